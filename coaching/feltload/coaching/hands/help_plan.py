"""Help and resistance by hand: the plan by position."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.coaching.capacity.capacity import CapacityCurve
from feltload.coaching.errors import CoachingError
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.match.match import shared_angles
from feltload.core import Floats, Indices, degrees, force_text

FEELABLE_N = 5.0
"""A hand does not give less than this on purpose (common practice, no source)."""
STEADY_HAND_N = 100.0
"""A partner does not hold more than this evenly by hand (common practice, no source)."""
SHORTEST_STRETCH_RAD = np.deg2rad(5.0)


@dataclass(frozen=True)
class HelpStretch:
    """A stretch of the travel in which the partner does one thing.

    Attributes
    ----------
    from_rad, to_rad : float
    kind : {"help", "resist", "leave"}
    mean_n, peak_n, first_n, last_n : float
        Size of the hand's force along the handle's path, positive: mean, greatest, and at the two ends.
    peak_rad : float
    """

    from_rad: float
    to_rad: float
    kind: str
    mean_n: float
    peak_n: float
    first_n: float
    last_n: float
    peak_rad: float

    def words(self) -> str:
        """One line that a partner can follow."""
        where = f"{degrees(self.from_rad)} to {degrees(self.to_rad)}"
        if self.kind == "leave":
            return f"{where}: hands off"
        verb = "help" if self.kind == "help" else "add resistance"
        ends = (self.first_n, self.last_n)
        if self.peak_n > 1.15 * max(ends):
            return f"{where}: {verb}, most at {degrees(self.peak_rad)}, {force_text(self.peak_n)}"
        if max(ends) - min(ends) < 0.25 * self.peak_n:
            return f"{where}: {verb}, about {force_text(self.mean_n)} throughout"
        way = "building up" if self.last_n > self.first_n else "easing off"
        return f"{where}: {verb}, {way} from {force_text(self.first_n)} to {force_text(self.last_n)}"


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
    stretches : tuple of HelpStretch
    """

    load_kg: float
    target: float
    angle_rad: Floats
    help_n: Floats
    u_n: Floats
    stretches: tuple[HelpStretch, ...]

    @property
    def beyond_a_hand(self) -> bool:
        """Whether it asks for more than a partner holds evenly: plates are then the better change."""
        return bool(np.abs(self.help_n).max() > STEADY_HAND_N)


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
    u_load = np.interp(angle, line.angle_rad, np.sqrt(np.clip(np.diag(line.covariance_at(load_kg)), 0, None)))
    needed = load - target * force
    u = np.hypot(u_load, target * np.sqrt(np.clip(np.diag(covariance), 0, None)))
    return HelpPlan(load_kg, target, angle, needed, u, _stretches(angle, needed))


def _stretches(angle: Floats, needed: Floats) -> tuple[HelpStretch, ...]:
    kinds = np.where(needed > FEELABLE_N, 1, np.where(needed < -FEELABLE_N, -1, 0))
    names = {1: "help", -1: "resist", 0: "leave"}
    found = []
    for first, last in _merged(angle, kinds):
        part = np.abs(needed[first:last])
        peak = first + int(np.argmax(part))
        found.append(
            HelpStretch(
                from_rad=float(angle[first]),
                to_rad=float(angle[min(last, len(angle) - 1)]),
                kind=names[int(kinds[first])],
                mean_n=float(part.mean()),
                peak_n=float(part.max()),
                first_n=float(part[0]),
                last_n=float(part[-1]),
                peak_rad=float(angle[peak]),
            )
        )
    return tuple(found)


def _merged(angle: Floats, kinds: Indices) -> list[tuple[int, int]]:
    """Stretches of one kind; what is too short for a partner to follow goes to the stretch before it."""
    edges = np.flatnonzero(np.diff(kinds)) + 1
    pieces = list(zip([0, *edges.tolist()], [*edges.tolist(), len(angle)], strict=True))
    kept: list[tuple[int, int]] = []
    for first, last in pieces:
        short = angle[last - 1] - angle[first] < SHORTEST_STRETCH_RAD
        if kept and (short or kinds[first] == kinds[kept[-1][0]]):
            kept[-1] = (kept[-1][0], last)
        else:
            kept.append((first, last))
    return kept
