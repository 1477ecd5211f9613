"""Painful ranges as facts about one client at one machine, with the history of each mark."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from feltload.coaching.errors import PainfulTravelError
from feltload.core import Flags, Floats
from feltload.signal import AngleKind, Travel

MARGIN = 2.0
"""Degrees of travel: nearer to a painful range nobody works; angle, stop and person give a little (our convention)."""
SAME_MARK_RAD = float(np.deg2rad(0.05))

AROUND = 5.0
"""Degrees of travel: a position at which pain was reported is marked this far on both sides (our own convention)."""

Span = tuple[float, float]


@dataclass(frozen=True)
class PainMark:
    """A range that hurt, from when to when it is marked.

    Attributes
    ----------
    low_rad, high_rad : float
        Start angle plus rotation.
    angle : AngleKind or None
        What an angle was on the machine when it was marked; None where nobody kept that.
    low_m, high_m : float or None
        Ways of the handle from the start stop at both ends, where they were known.
    added : str
        ISO 8601; empty where the mark holds for one command only.
    removed : str or None
        When it was removed on purpose; None while it stands.
    """

    low_rad: float
    high_rad: float
    added: str = ""
    removed: str | None = None
    angle: AngleKind | None = None
    low_m: float | None = None
    high_m: float | None = None

    @classmethod
    def of(cls, span_rad: Span, added: str, travel: Travel | None) -> PainMark:
        """A new mark, with what its positions are on the machine of `travel`."""
        if travel is None:
            return cls(*span_rad, added=added)
        low_m, high_m = (travel.way_m(at_rad) for at_rad in span_rad)
        return cls(*span_rad, added=added, angle=travel.scale.angle, low_m=low_m, high_m=high_m)

    def placed(self, travel: Travel) -> PainMark:
        """The mark where it lies on the machine as its file is now.

        Lever angles stay what they are. Elsewhere the place in space is the handle's way: where start angle or a
        wheel's radius were corrected, rotations are others.

        Raises
        ------
        PainfulTravelError
            When the mark was made on another mechanism: its angles mean nothing here.
        """
        if self.angle is None or not self.stands:
            return self
        if self.angle is not travel.scale.angle:
            raise PainfulTravelError(
                f"a range was marked painful when this machine's positions were of another kind ({self.angle}, now "
                f"{travel.scale.angle}), and names no position on it",
                remedy="mark the range again on the machine as it is; remove the old mark with the machine file it was "
                "made with: feltload client pain",
            )
        if (
            self.angle is AngleKind.LEVER
            or travel.path_m is None
            or self.low_m is None
            or self.high_m is None
        ):
            return self
        return replace(self, low_rad=travel.at_way(self.low_m), high_rad=travel.at_way(self.high_m))

    @property
    def stands(self) -> bool:
        """Whether nobody removed it."""
        return self.removed is None

    def covers(self, span_rad: Span) -> bool:
        """Whether it is a mark of this very range."""
        low, high = span_rad
        return max(abs(self.low_rad - low), abs(self.high_rad - high)) < SAME_MARK_RAD


def placed_marks(marks: Sequence[PainMark], travel: Travel | None) -> tuple[PainMark, ...]:
    """The marks where they lie on the machine as it is now; see `PainMark.placed`."""
    return tuple(mark if travel is None else mark.placed(travel) for mark in marks)


def add_marks(
    marks: Sequence[PainMark], spans_rad: Iterable[Span], added: str = "", travel: Travel | None = None
) -> tuple[PainMark, ...]:
    """The marks with new ones; a range that is marked already keeps its date."""
    found = list(marks)
    for span in spans_rad:
        if not any(mark.stands and mark.covers(span) for mark in found):
            found.append(PainMark.of(span, added, travel))
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


def degree_of(measured_rad: Span) -> float:
    """A degree of travel, rad: a hundredth of it where that is more, for a drum turns several times over a travel."""
    return max(float(np.deg2rad(1.0)), 0.01 * (measured_rad[1] - measured_rad[0]))


def span_around(angle_rad: float, measured_rad: Span = (0.0, 0.0)) -> Span:
    """The range that a report of pain at one position marks, in whole degrees, so that it can be named again."""
    middle, around = np.rad2deg([angle_rad, AROUND * degree_of(measured_rad)])
    return float(np.deg2rad(np.floor(middle - around))), float(np.deg2rad(np.ceil(middle + around)))


def inside_any(angle_rad: Floats, spans_rad: Iterable[Span], margin_rad: float = 0.0) -> Flags:
    """Which angles lie in one of the ranges, or nearer to it than the margin."""
    inside = np.zeros(angle_rad.shape, dtype=bool)
    for low, high in spans_rad:
        inside |= (angle_rad >= low - margin_rad) & (angle_rad <= high + margin_rad)
    return inside


def free_pieces(low_rad: float, high_rad: float, painful_rad: Sequence[Span]) -> tuple[Span, ...]:
    """What is left of a travel outside every painful range and its margin, ascending."""
    pieces, margin = [], MARGIN * degree_of((low_rad, high_rad))
    begin = low_rad
    for low, high in sorted(painful_rad):
        if not touches((low, high), (low_rad, high_rad)):
            continue
        if low - margin > begin:
            pieces.append((begin, low - margin))
        begin = max(begin, high + margin)
    return (*pieces, (begin, high_rad)) if begin < high_rad else tuple(pieces)


def touches(span: Span, travel: Span) -> bool:
    """Whether a range, with its margin, reaches into a travel."""
    margin = MARGIN * degree_of(travel)
    return span[1] + margin > travel[0] and span[0] - margin < travel[1]


def said(low_rad: float, high_rad: float) -> str:
    """A range as messages name it."""
    return f"{degrees_said(low_rad)} to {degrees_said(high_rad)}"


def degrees_said(angle_rad: float) -> str:
    """An angle as messages name it."""
    return f"{np.rad2deg(angle_rad):z.0f}°".replace("-", "−")
