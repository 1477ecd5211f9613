"""Help and resistance by hand: the plan by position."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from feltload.coaching.capacity import CapacityCurve
from feltload.coaching.errors import CoachingError
from feltload.coaching.load_line import LoadLine
from feltload.coaching.match import shared_angles

Array = npt.NDArray[np.float64]

KGF_N = 9.80665
FEELABLE_N = 5.0
"""A hand does not give less than this on purpose (common practice, no source)."""


@dataclass(frozen=True)
class HelpStretch:
    """A stretch of the travel in which the partner does one thing.

    Attributes
    ----------
    from_rad, to_rad : float
    kind : {"help", "resist", "leave"}
    mean_n, peak_n : float
        Size of the hand's force along the handle's path, positive.
    peak_rad : float
    """

    from_rad: float
    to_rad: float
    kind: str
    mean_n: float
    peak_n: float
    peak_rad: float

    def words(self) -> str:
        """One line that a partner can follow."""
        where = f"{np.rad2deg(self.from_rad):.0f}° to {np.rad2deg(self.to_rad):.0f}°"
        if self.kind == "leave":
            return f"{where}: hands off"
        verb = "help" if self.kind == "help" else "add resistance"
        return (
            f"{where}: {verb}, about {self.mean_n:.0f} N ({self.mean_n / KGF_N:.0f} kgf), most at "
            f"{np.rad2deg(self.peak_rad):.0f}° ({self.peak_n:.0f} N, {self.peak_n / KGF_N:.0f} kgf)"
        )


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
    angle_rad: Array
    help_n: Array
    u_n: Array
    stretches: tuple[HelpStretch, ...]


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


def _stretches(angle: Array, needed: Array) -> tuple[HelpStretch, ...]:
    kinds = np.where(needed > FEELABLE_N, 1, np.where(needed < -FEELABLE_N, -1, 0))
    edges = np.flatnonzero(np.diff(kinds)) + 1
    starts = np.concatenate(([0], edges))
    ends = np.concatenate((edges, [len(angle)]))
    names = {1: "help", -1: "resist", 0: "leave"}
    found = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        part = np.abs(needed[first:last])
        peak = first + int(np.argmax(part))
        stop = angle[min(last, len(angle) - 1)]
        found.append(
            HelpStretch(
                float(angle[first]),
                float(stop),
                names[int(kinds[first])],
                float(part.mean()),
                float(part.max()),
                float(angle[peak]),
            )
        )
    return tuple(found)
