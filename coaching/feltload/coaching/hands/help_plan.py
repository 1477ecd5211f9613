"""Help and resistance by hand: the plan by position."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.cautions import Caution
from feltload.coaching.errors import CoachingError
from feltload.coaching.hands.hand import FEELABLE_N, SHORTEST_STRETCH_RAD, STEADY_HAND_N
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.match.match import shared_angles
from feltload.core import EXPANDED_COVERAGE_K, Floats, Indices

if TYPE_CHECKING:
    import pandas as pd


PEAKED = 1.15
"""A stretch whose greatest force exceeds this many times both ends' has its peak inside (our own convention)."""
STEADY_SHARE = 0.25
"""Ends that differ by less than this part of the greatest force count as alike (our own convention)."""


class HandAction(StrEnum):
    """What the partner does."""

    HELP = "help"
    RESIST = "resist"
    LEAVE = "leave"


class Course(StrEnum):
    """How the force goes along a stretch."""

    STEADY = "steady"
    BUILDING_UP = "building-up"
    EASING_OFF = "easing-off"
    PEAK_INSIDE = "peak-inside"


@dataclass(frozen=True)
class HelpStretch:
    """A stretch of the travel in which the partner does one thing.

    Attributes
    ----------
    from_rad, to_rad : float
    action : HandAction
    mean_n, peak_n, first_n, last_n : float
        Size of the hand's force along the handle's path, positive: mean, greatest, and at the two ends.
    peak_rad : float
    """

    from_rad: float
    to_rad: float
    action: HandAction
    mean_n: float
    peak_n: float
    first_n: float
    last_n: float
    peak_rad: float

    @property
    def course(self) -> Course:
        """How the force goes from its start to its end."""
        if self.peak_n > PEAKED * max(self.first_n, self.last_n):
            return Course.PEAK_INSIDE
        if abs(self.last_n - self.first_n) < STEADY_SHARE * self.peak_n:
            return Course.STEADY
        return Course.BUILDING_UP if self.last_n > self.first_n else Course.EASING_OFF


@dataclass(frozen=True)
class HelpPlan:
    """Newtons to give by hand at each position.

    Attributes
    ----------
    load_kg, target : float
        Plates, and the demand (fraction of capacity) the client shall feel.
    angle_rad, help_n : ndarray, shape (n,)
        Positive: help along the raising direction; negative: add resistance.
    u_n : ndarray, shape (n,)
        Standard uncertainty of `help_n`.
    """

    load_kg: float
    target: float
    angle_rad: Floats
    help_n: Floats
    u_n: Floats

    @property
    def u95_n(self) -> Floats:
        """Expanded uncertainty of `help_n` (k = 2, about 95 %), shape (n,)."""
        return EXPANDED_COVERAGE_K * self.u_n

    @property
    def beyond_a_hand(self) -> bool:
        """Whether it asks for more than a partner holds evenly: plates are then the better change."""
        return bool(np.abs(self.help_n).max() > STEADY_HAND_N)

    @property
    def stretches(self) -> tuple[HelpStretch, ...]:
        """What the partner does along the travel, one thing after the other."""
        return _stretches(self.angle_rad, self.help_n)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What comes before a plan is followed."""
        return (Caution.HELP_BY_HAND,)

    def to_frame(self) -> pd.DataFrame:
        """One row an angle: ``angle_deg, help_n, u95_n``."""
        import pandas as pd

        return pd.DataFrame(
            {"angle_deg": np.rad2deg(self.angle_rad), "help_n": self.help_n, "u95_n": self.u95_n}
        )


def plan_help(line: LoadLine, capacity: CapacityCurve, load_kg: float, target: float) -> HelpPlan:
    """Plan help by hand so that the client works at a constant fraction of capacity.

    ``help = load - target * capacity`` at each position.

    Raises
    ------
    CoachingError
        For a target that is no fraction of capacity.
    OverlapError
        When load and capacity share less than 10° of travel.
    """
    if not 0 < target <= 1:
        raise CoachingError(
            f"a target of {target:g} is not a fraction of capacity", remedy="give one such as 0.8"
        )
    angle = shared_angles(line, capacity)
    load = np.interp(angle, line.angle_rad, line.raising_n(load_kg))
    force, covariance = capacity.at(angle)
    u_load = np.interp(angle, line.angle_rad, line.u_n(load_kg))
    u = np.hypot(u_load, target * np.sqrt(np.clip(np.diag(covariance), 0, None)))
    return HelpPlan(load_kg, target, angle, load - target * force, u)


def _stretches(angle: Floats, help_n: Floats) -> tuple[HelpStretch, ...]:
    signs = np.where(help_n > FEELABLE_N, 1, np.where(help_n < -FEELABLE_N, -1, 0))
    actions = {1: HandAction.HELP, -1: HandAction.RESIST, 0: HandAction.LEAVE}
    stretches = []
    for first, stop in _merged(angle, signs):
        size = np.abs(help_n[first:stop])
        peak = first + int(np.argmax(size))
        stretches.append(
            HelpStretch(
                from_rad=float(angle[first]),
                to_rad=float(angle[min(stop, len(angle) - 1)]),
                action=actions[int(signs[first])],
                mean_n=float(size.mean()),
                peak_n=float(size.max()),
                first_n=float(size[0]),
                last_n=float(size[-1]),
                peak_rad=float(angle[peak]),
            )
        )
    return tuple(stretches)


def _merged(angle: Floats, signs: Indices) -> list[tuple[int, int]]:
    """Stretches of one sign; what is too short for a partner to follow goes to the stretch before it."""
    edges = (np.flatnonzero(np.diff(signs)) + 1).tolist()
    merged: list[tuple[int, int]] = []
    for first, stop in zip([0, *edges], [*edges, len(angle)], strict=True):
        short = angle[stop - 1] - angle[first] < SHORTEST_STRETCH_RAD
        if merged and (short or signs[first] == signs[merged[-1][0]]):
            merged[-1] = (merged[-1][0], stop)
        else:
            merged.append((first, stop))
    return merged
