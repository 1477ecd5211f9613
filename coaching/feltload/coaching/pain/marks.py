"""Painful ranges as facts about one client at one machine, with the history of each mark."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from feltload.coaching.errors import PainfulTravelError
from feltload.core import Flags, Floats

MARGIN_RAD = float(np.deg2rad(2.0))
"""Nearer to a painful range than this nobody works: angle, stop and the person give a little (our own convention)."""
SAME_MARK_RAD = float(np.deg2rad(0.05))

AROUND_RAD = np.deg2rad(5.0)
"""A position at which pain was reported is marked this far on both sides (our own convention)."""

Span = tuple[float, float]


@dataclass(frozen=True)
class PainMark:
    """A range that hurt, from when to when it is marked.

    Attributes
    ----------
    low_rad, high_rad : float
        Lever angles.
    added : str
        ISO 8601; empty where the mark holds for one command only.
    removed : str or None
        When it was removed on purpose; None while it stands.
    """

    low_rad: float
    high_rad: float
    added: str = ""
    removed: str | None = None

    @property
    def stands(self) -> bool:
        """Whether nobody removed it."""
        return self.removed is None

    def covers(self, span_rad: Span) -> bool:
        """Whether it is a mark of this very range."""
        low, high = span_rad
        return max(abs(self.low_rad - low), abs(self.high_rad - high)) < SAME_MARK_RAD


def add_marks(marks: Sequence[PainMark], spans_rad: Iterable[Span], added: str = "") -> tuple[PainMark, ...]:
    """The marks with new ones; a range that is marked already keeps its date."""
    found = list(marks)
    for span in spans_rad:
        if not any(mark.stands and mark.covers(span) for mark in found):
            found.append(PainMark(*span, added=added))
    return tuple(found)


def remove_marks(marks: Sequence[PainMark], spans_rad: Iterable[Span], removed: str) -> tuple[PainMark, ...]:
    """The marks with some removed on purpose; what was marked stays in the history.

    Raises
    ------
    PainfulTravelError
        When no standing mark is of that very range.
    """
    found = list(marks)
    for span in spans_rad:
        at = [number for number, mark in enumerate(found) if mark.stands and mark.covers(span)]
        if not at:
            standing = ", ".join(said(mark.low_rad, mark.high_rad) for mark in found if mark.stands)
            raise PainfulTravelError(
                f"{said(*span)} is not marked painful ({standing or 'nothing is'})",
                remedy="name the range as it was marked",
            )
        for number in at:
            found[number] = replace(found[number], removed=removed)
    return tuple(found)


def standing_spans(marks: Iterable[PainMark]) -> tuple[Span, ...]:
    """Ranges marked now, ascending, those that touch joined."""
    joined: list[Span] = []
    for low, high in sorted((mark.low_rad, mark.high_rad) for mark in marks if mark.stands):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return tuple(joined)


def span_around(angle_rad: float) -> Span:
    """The range that a report of pain at one position marks, in whole degrees, so that it can be named again."""
    middle, around = np.rad2deg([angle_rad, AROUND_RAD])
    return float(np.deg2rad(np.floor(middle - around))), float(np.deg2rad(np.ceil(middle + around)))


def inside_any(angle_rad: Floats, spans_rad: Iterable[Span], margin_rad: float = 0.0) -> Flags:
    """Which angles lie in one of the ranges, or nearer to it than the margin."""
    inside = np.zeros(angle_rad.shape, dtype=bool)
    for low, high in spans_rad:
        inside |= (angle_rad >= low - margin_rad) & (angle_rad <= high + margin_rad)
    return inside


def said(low_rad: float, high_rad: float) -> str:
    """A range as messages name it."""
    return f"{degrees_said(low_rad)} to {degrees_said(high_rad)}"


def degrees_said(angle_rad: float) -> str:
    """An angle as messages name it."""
    return f"{np.rad2deg(angle_rad):z.0f}°".replace("-", "−")
