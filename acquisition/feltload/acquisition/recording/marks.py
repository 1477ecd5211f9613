"""Moments and stretches marked while recording."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["MARK_KINDS", "Mark", "read_marks"]

MARK_KINDS = ("tare", "knock", "load", "note", "gap", "zero-after", "field-check", "pain")
"""Kinds of marks: "tare" and "zero-after" cover a hands-off window, "gap" a lost link, "field-check" a known
weight hanging still on the cell, whose mass is the text; "pain" is a moment at which the person reported pain, and its
text the position that was asked for, such as "23.4 deg", or empty where none was."""


@dataclass(frozen=True)
class Mark:
    """A moment or stretch marked while recording.

    Parameters
    ----------
    kind : str
        One of `MARK_KINDS`.
    start_s, until_s : float
        Seconds from the start of the recording; `until_s` is None for a moment.
    text : str
    """

    kind: str
    start_s: float
    until_s: float | None = None
    text: str = ""


def read_marks(messages: Iterable[bytes], origin_ns: int) -> tuple[Mark, ...]:
    """Marks from their stored messages, in order of time."""
    marks = []
    for data in messages:
        values = json.loads(data)
        until = values["until_ns"]
        marks.append(
            Mark(
                values["kind"],
                (values["start_ns"] - origin_ns) * 1e-9,
                None if until is None else (until - origin_ns) * 1e-9,
                values["text"],
            )
        )
    return tuple(sorted(marks, key=lambda mark: mark.start_s))
