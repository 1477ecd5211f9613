"""Bytes as they arrived, with the time of each message."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from feltload.core import Bytes, Indices

__all__ = ["Arrivals"]


@dataclass(frozen=True, eq=False)
class Arrivals:
    """Messages of one link, laid end to end.

    A message is what one read of a serial port or one notification brought. An empty message says
    that the link was opened again: what came before it and what comes after it do not join.

    Parameters
    ----------
    data : uint8 array, shape (bytes,)
    ends : int64 array, shape (messages,)
        End of each message in `data`.
    host_ns : int64 array, shape (messages,)
        Host's monotonic time at which the message had arrived.
    """

    data: Bytes
    ends: Indices
    host_ns: Indices

    @classmethod
    def from_pairs(cls, pairs: Iterable[tuple[int, bytes]]) -> Arrivals:
        """Lay (host_ns, bytes) pairs end to end."""
        listed = list(pairs)
        return cls.from_lists([stamp for stamp, _ in listed], [data for _, data in listed])

    @classmethod
    def from_lists(cls, host_ns: Sequence[int], messages: Sequence[bytes]) -> Arrivals:
        """Lay messages end to end, each with its time."""
        sizes = np.fromiter(map(len, messages), dtype=np.int64, count=len(messages))
        data = np.frombuffer(b"".join(messages), dtype=np.uint8)
        return cls(data, np.cumsum(sizes), np.array(host_ns, dtype=np.int64))

    def __len__(self) -> int:
        return int(self.ends.size)

    @property
    def starts(self) -> Indices:
        """Start of each message in `data`."""
        return np.concatenate([np.zeros(min(1, len(self)), dtype=np.int64), self.ends[:-1]])

    def pairs(self) -> list[tuple[int, bytes]]:
        """(host_ns, bytes) of every message."""
        flow = self.data.tobytes()
        spans = zip(self.starts.tolist(), self.ends.tolist(), strict=True)
        return [(at, flow[a:b]) for at, (a, b) in zip(self.host_ns.tolist(), spans, strict=True)]

    def breaks(self) -> Indices:
        """Offsets in `data` at which the link was opened again."""
        starts = self.starts
        return np.unique(starts[starts == self.ends])

    def message_of(self, positions: Indices) -> Indices:
        """Index of the message that holds each byte position (positions ascending)."""
        # Messages are fewer than frames: look the messages up among the positions, not the reverse.
        edges = np.searchsorted(positions, self.ends, side="left")
        counts = np.diff(edges, prepend=0)
        return np.repeat(np.arange(len(self), dtype=np.int64), counts)
