"""Positions in words a gym knows: the part of the travel, the way of the handle, and the angle beside them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.text.numbers import degrees
from feltload.core import Fact, Floats
from feltload.signal import ProfileEstimate

Span = tuple[float, float]

THIRDS = ("first third", "middle", "last third")
AT_AN_END = 0.015
"""Within this share of the travel from an end, a position is that end."""


@dataclass(frozen=True)
class Travel:
    """The travel along which positions are said.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
        Angles of the handle's line over the whole measured travel, ascending.
    path_m : ndarray, shape (n,), optional
        Way of the handle from the first of them, where the machine file gives it.
    """

    angle_rad: Floats
    path_m: Floats | None = None

    @classmethod
    def of(cls, estimate: ProfileEstimate) -> Travel:
        """The travel that was measured."""
        return cls(estimate.angle_rad, estimate.handle_path_m)

    @classmethod
    def between(cls, ends_rad: Span) -> Travel:
        """A travel of which both ends are known."""
        return cls(np.array(ends_rad))

    @property
    def ends_rad(self) -> Span:
        """Both ends."""
        return float(self.angle_rad[0]), float(self.angle_rad[-1])

    def share(self, angle_rad: float) -> float:
        """Part of the travel from its start; below 0 or above 1 outside."""
        low, high = self.ends_rad
        return (angle_rad - low) / (high - low)

    def way_m(self, angle_rad: float) -> float | None:
        """Way of the handle from the start; None where it is not known."""
        if self.path_m is None or not 0.0 <= self.share(angle_rad) <= 1.0:
            return None
        return float(np.interp(angle_rad, self.angle_rad, self.path_m))


def describe_position(angle_rad: float, travel: Travel, *, of: str = "the travel") -> str:
    """``62 % of the travel (middle, 31 cm from its start, 12°)``; `of` names what it is a part of."""
    return position_text(travel.share(angle_rad), angle_rad, travel.way_m(angle_rad), of=of)


def describe_fact_position(fact: Fact) -> str:
    """The same for a fact that carries its position."""
    angle_rad = fact.figure("angle_rad")
    if "travel_share" not in fact.figures:
        return degrees(angle_rad)
    way = fact.figure("handle_path_m") if "handle_path_m" in fact.figures else None
    return position_text(fact.figure("travel_share"), angle_rad, way)


def position_text(
    share: float, angle_rad: float, way_m: float | None = None, *, of: str = "the travel"
) -> str:
    """A position from its three figures; the way is left out where it is not known."""
    if not -AT_AN_END <= share <= 1.0 + AT_AN_END:
        return f"{degrees(angle_rad)}, outside the measured travel"
    if share < AT_AN_END or share > 1.0 - AT_AN_END:
        return f"the {'start' if share < 0.5 else 'end'} of {of} ({degrees(angle_rad)})"
    way = "" if way_m is None else f", {100.0 * way_m:.0f} cm from its start"
    return f"{100.0 * share:.0f} % of {of} ({third(share)}{way}, {degrees(angle_rad)})"


def describe_place(angle_rad: float, travel: Travel) -> str:
    """``middle, 31 cm from its start, 12°``: what stands beside a share."""
    way = travel.way_m(angle_rad)
    cm = "" if way is None else f", {100.0 * way:.0f} cm from its start"
    return f"{third(travel.share(angle_rad))}{cm}, {degrees(angle_rad)}"


def short_position(angle_rad: float, travel: Travel) -> str:
    """``62 % (12°)``, where room is short."""
    return f"{_percent(angle_rad, travel):.0f} % ({degrees(angle_rad)})"


def describe_span(span_rad: Span, travel: Travel) -> str:
    """``30 to 62 % of the travel (14 to 31 cm from its start, −5° to 12°)``; angles alone outside the travel."""
    if _is_outside(span_rad, travel):
        return angles_text(span_rad)
    ends = [travel.way_m(float(np.clip(angle, *travel.ends_rad))) for angle in span_rad]
    ways = [100.0 * way for way in ends if way is not None]
    cm = f"{ways[0]:.0f} to {ways[1]:.0f} cm from its start, " if len(ways) == 2 else ""
    return f"{shares_text(span_rad, travel)} of the travel ({cm}{angles_text(span_rad)})"


def short_span(span_rad: Span, travel: Travel) -> str:
    """``30 to 62 % of the travel (−5° to 12°)``: the same without the handle's way."""
    if _is_outside(span_rad, travel):
        return angles_text(span_rad)
    return f"{shares_text(span_rad, travel)} of the travel ({angles_text(span_rad)})"


def stretch_text(first_rad: float, last_rad: float, travel: Travel) -> str:
    """``30 to 62 % (−5° to 12°)``, in the order of the movement, where the head says of what it is a part."""
    return f"{shares_text((first_rad, last_rad), travel)} ({angles_text((first_rad, last_rad))})"


def shares_text(span_rad: Span, travel: Travel) -> str:
    """``30 to 62 %``, where the head says of what it is a part."""
    first, last = (_percent(angle, travel) for angle in span_rad)
    return f"{first:.0f} to {last:.0f} %"


def third(share: float) -> str:
    """``first third``, ``middle`` or ``last third``."""
    return THIRDS[min(max(int(3.0 * share), 0), 2)]


def in_third(share: float) -> str:
    """``in the first third``, ``in the middle`` or ``in the last third``."""
    return f"in the {third(share)}"


def _percent(angle_rad: float, travel: Travel) -> float:
    return 100.0 * min(max(travel.share(angle_rad), 0.0), 1.0)


def angles_text(span_rad: Span) -> str:
    """``−5° to 12°``, where the travel is not known."""
    return f"{degrees(span_rad[0])} to {degrees(span_rad[1])}"


def _is_outside(span_rad: Span, travel: Travel) -> bool:
    low, high = travel.ends_rad
    return min(span_rad) >= high or max(span_rad) <= low
