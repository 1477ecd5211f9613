"""Help and resistance by hand: the plan by position, and what was delivered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import butter, sosfiltfilt

from feltload.coaching.capacity import CapacityCurve
from feltload.coaching.errors import CoachingError, OverlapError
from feltload.coaching.load_line import LoadLine
from feltload.coaching.match import shared_angles
from feltload.coaching.motion import Motion
from feltload.signal import ProfileEstimate

Array = npt.NDArray[np.float64]

KGF_N = 9.80665
FEELABLE_N = 5.0
"""A hand does not give less than this on purpose (common practice, no source)."""
CUTOFF_HZ = 5.0
STANDARD_RATE_RAD_S = np.deg2rad(3.0)


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


@dataclass(frozen=True)
class DeliveredPass:
    """Help in one phase of one repetition.

    Attributes
    ----------
    repetition : int
        From 0.
    phase : {"concentric", "eccentric"}
    help_n : ndarray, shape (n,)
        On the angles of `DeliveredHelp`; NaN where the pass did not go.
    mean_n : float
        Over the travel of the pass.
    work_n_rad : float
        Help integrated over the travel.
    """

    repetition: int
    phase: str
    help_n: Array
    mean_n: float
    work_n_rad: float


@dataclass(frozen=True)
class DeliveredHelp:
    """What a partner gave, measured through the client's own handle.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
    passes : tuple of DeliveredPass
    concentric_n, eccentric_n : ndarray, shape (n,)
        Mean over the passes, NaN where there was none.
    u95_n : ndarray, shape (n,)
        Half-width of the 95 % band of a single pass; zero help reads within it.
    helped : bool
        Whether any of it stands out of the band.
    """

    angle_rad: Array
    passes: tuple[DeliveredPass, ...]
    concentric_n: Array
    eccentric_n: Array
    u95_n: Array
    helped: bool


def delivered_help(profile: ProfileEstimate, motion: Motion, load_kg: float) -> DeliveredHelp:
    """Measure help: what the machine needs at this motion minus what the client's handle felt.

    Parameters
    ----------
    profile : ProfileEstimate
        Of the machine, measured without help.
    motion : Motion
        Of the helped session.
    load_kg : float
        Plates in the helped session.

    Raises
    ------
    OverlapError
        When the session moved outside the range that was profiled.
    """
    needed = profile.force_n(motion.angle_rad, motion.rate_rad_s, motion.accel_rad_s2, load_kg)
    known = np.isfinite(needed)
    if known.mean() < 0.05 or np.ptp(motion.angle_rad[known]) < np.deg2rad(10.0):
        raise OverlapError(
            "the session hardly moves within the range that was profiled",
            remedy="profile the machine through the range that the client uses",
        )
    sos = butter(2, CUTOFF_HZ, fs=motion.rate_hz, output="sos")
    # Both sides go through the same filter, so fast parts leave no difference behind; outside the
    # profiled range the force felt stands in, so that the filter sees no edge there.
    gap = sosfiltfilt(sos, np.where(known, needed - motion.force_n, 0.0))
    edge = sosfiltfilt(sos, known.astype(float)) > 0.98
    grid = profile.angle_rad
    # Near a turn friction changes sign and the handle may be let go; those moments say nothing of help.
    moving = (np.abs(motion.rate_rad_s) > STANDARD_RATE_RAD_S) & known & edge
    passes = []
    for number, (start, turn, end) in enumerate(motion.repetitions):
        for phase, low, high in (("concentric", start, turn), ("eccentric", turn, end)):
            inside = moving & (motion.time_s >= low) & (motion.time_s < high)
            values = _on_grid(motion.angle_rad[inside], gap[inside], grid)
            good = np.isfinite(values)
            if good.sum() < 3:
                continue
            passes.append(
                DeliveredPass(
                    number,
                    phase,
                    values,
                    float(values[good].mean()),
                    float(np.trapezoid(values[good], grid[good])),
                )
            )
    if not passes:
        raise OverlapError(
            "no repetition was found in the session", remedy="record repetitions with a rest before"
        )
    u95 = 2.0 * _standard_uncertainty(profile, load_kg, motion)
    concentric = _mean([p.help_n for p in passes if p.phase == "concentric"], grid)
    eccentric = _mean([p.help_n for p in passes if p.phase == "eccentric"], grid)
    return DeliveredHelp(grid, tuple(passes), concentric, eccentric, u95, _stands_out(passes, u95))


def _on_grid(angle: Array, value: Array, grid: Array) -> Array:
    """Mean of the samples about each grid angle, NaN where there are none."""
    if angle.size < 3:
        return np.full(grid.size, np.nan)
    order = np.argsort(angle)
    out: Array = np.interp(grid, angle[order], value[order], left=np.nan, right=np.nan)
    return out


def _mean(rows: Sequence[Array], grid: Array) -> Array:
    if not rows:
        return np.full(grid.size, np.nan)
    stacked = np.stack(rows)
    count = np.isfinite(stacked).sum(axis=0)
    total = np.nansum(stacked, axis=0)
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), np.nan))


def _standard_uncertainty(profile: ProfileEstimate, load_kg: float, motion: Motion) -> Array:
    """Of one pass: the profile at this load, the zero of this session, and its lag."""
    line = LoadLine.of(profile)
    static = np.interp(
        profile.angle_rad, line.angle_rad, np.sqrt(np.clip(np.diag(line.covariance_at(load_kg)), 0.0, None))
    )
    friction = np.nanmean(np.atleast_2d(profile.friction_n), axis=0)
    # Friction wanders from pass to pass; a tenth of it is common practice, no source.
    return np.asarray(np.sqrt(static**2 + motion.u_zero_n**2 + motion.u_lag_n**2 + (0.1 * friction) ** 2))


def _stands_out(passes: Sequence[DeliveredPass], u95: Array) -> bool:
    """Whether more than a tenth of all passes' positions lie outside the band."""
    inside = np.concatenate([np.abs(p.help_n) <= u95 for p in passes])
    seen = np.concatenate([np.isfinite(p.help_n) for p in passes])
    return bool(np.mean(~inside[seen]) > 0.1)
