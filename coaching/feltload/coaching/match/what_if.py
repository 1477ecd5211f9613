"""What a coach can change, each as a change of the same force-by-position line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from feltload.coaching.capacity.capacity import CapacityCurve
from feltload.coaching.clients.cautions import PAIN
from feltload.coaching.errors import CoachingError, OverlapError
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.match.match import Match, match_capacity as match
from feltload.core import Floats
from feltload.signal import SMOOTH_PEAK_ACCELERATION


@dataclass(frozen=True)
class AddedForce:
    """A band or chain at the handle: extra force by lever angle.

    Attributes
    ----------
    name : str
    angle_rad, force_n : ndarray, shape (k,)
        Ascending angles; between them linear, outside the end values.
    """

    name: str
    angle_rad: Floats
    force_n: Floats

    def at(self, angle_rad: Floats) -> Floats:
        """Force at other angles."""
        return np.asarray(np.interp(angle_rad, self.angle_rad, self.force_n))


def with_added(line: LoadLine, added: Sequence[AddedForce]) -> LoadLine:
    """The line with bands or chains on it."""
    extra = line.extra_n + sum((a.at(line.angle_rad) for a in added), np.zeros(line.angle_rad.size))
    return replace(line, extra_n=extra)


def within(line: LoadLine, low_rad: float, high_rad: float) -> LoadLine:
    """The line over part of the travel: a higher start (seat, stop), or a range cut short.

    Raises
    ------
    OverlapError
        When less than two measured angles remain.
    """
    keep = np.flatnonzero((line.angle_rad >= low_rad) & (line.angle_rad <= high_rad))
    if keep.size < 2:
        raise OverlapError(
            f"nothing was measured between {np.rad2deg(low_rad):.0f}° and {np.rad2deg(high_rad):.0f}°",
            remedy=f"choose within {np.rad2deg(line.angle_rad[0]):.0f}° to {np.rad2deg(line.angle_rad[-1]):.0f}°",
        )
    n = line.angle_rad.size
    rows = np.concatenate([load * n + keep for load in range(line.measured_kg.size)])
    return replace(
        line,
        angle_rad=line.angle_rad[keep],
        offset_n=line.offset_n[keep],
        slope_n_per_kg=line.slope_n_per_kg[keep],
        covariance_n2=line.covariance_n2[np.ix_(rows, rows)],
        inertia_n_per_rad_s2=line.inertia_n_per_rad_s2[keep],
        inertia_n_per_rad_s2_per_kg=line.inertia_n_per_rad_s2_per_kg[keep],
        extra_n=line.extra_n[keep],
    )


def inertia_swing_n(line: LoadLine, load_kg: float, concentric_s: float) -> float:
    """Greatest force that inertia adds (and takes off) in a smooth repetition of this duration.

    Raises
    ------
    CoachingError
        For a duration that is not positive.
    """
    if not concentric_s > 0:
        raise CoachingError(
            f"a repetition of {concentric_s:g} s is not possible", remedy="give seconds above 0"
        )
    travel = float(line.angle_rad[-1] - line.angle_rad[0])
    return float(line.inertia_at(load_kg).mean() * SMOOTH_PEAK_ACCELERATION * travel / concentric_s**2)


@dataclass(frozen=True)
class LoadLimit:
    """The greatest load that keeps the force under a limit between two positions.

    Attributes
    ----------
    load_kg : float
        With the upper end of the 95 % band still under the limit.
    limit_n : float
    at_rad : float
        Position that decides.
    caution : str
        Shown wherever the load is shown.
    """

    load_kg: float
    limit_n: float
    at_rad: float
    caution: str = PAIN


def greatest_load(line: LoadLine, limit_n: float, low_rad: float, high_rad: float) -> LoadLimit:
    """Greatest load with the force raising slowly under `limit_n` between two positions.

    Raises
    ------
    CoachingError
        When one load was measured, or the machine without plates is already above the limit.
    OverlapError
        When nothing was measured between the positions.
    """
    part = within(line, low_rad, high_rad)
    if not part.predicts:
        raise CoachingError(
            f"only {part.measured_kg[0]:g} kg was measured, so other loads cannot be told",
            remedy="record a second load and profile both together",
        )

    def upper(load_kg: float) -> Floats:
        return part.raising_n(load_kg) + 2.0 * np.sqrt(
            np.clip(np.diag(part.covariance_at(load_kg)), 0.0, None)
        )

    bare = upper(0.0)
    if float(bare.max()) > limit_n:
        raise CoachingError(
            f"the machine without plates already asks for {bare.max():.0f} N there, above {limit_n:.0f} N",
            remedy="cut the range short of that position, or leave this machine",
        )
    low, high = 0.0, 10.0 * float(part.measured_kg.max()) + 10.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(upper(middle).max()) <= limit_n else (low, middle)
    return LoadLimit(low, limit_n, float(part.angle_rad[int(np.argmax(upper(low)))]))


@dataclass(frozen=True)
class WhatIf:
    """One change and what becomes of the match.

    Attributes
    ----------
    name : str
        The change in plain words.
    match : Match
    """

    name: str
    match: Match


def compare_changes(
    line: LoadLine, capacity: CapacityCurve, load_kg: float, changes: Sequence[tuple[str, LoadLine, float]]
) -> tuple[WhatIf, ...]:
    """The match as it is, then with each change: ``(name, line, load_kg)``."""
    return tuple(
        WhatIf(name, match(changed, capacity, kg))
        for name, changed, kg in (("as it is", line, load_kg), *changes)
    )
