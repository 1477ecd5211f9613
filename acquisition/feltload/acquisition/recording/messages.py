"""Messages of a recording as they arrived."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Messages:
    """Messages of one topic in the order they were written.

    Parameters
    ----------
    host_ns : list of int
    data : list of bytes
    """

    host_ns: list[int] = field(default_factory=list)
    data: list[bytes] = field(default_factory=list)
