"""Help and resistance by hand: what was delivered, measured through the client's own handle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.ndimage import binary_erosion
from scipy.signal import butter, sosfiltfilt

from feltload.coaching.errors import OverlapError
from feltload.coaching.hands.help_plan import FEELABLE_N
from feltload.coaching.hands.motion import Motion
from feltload.coaching.match.load_line import LoadLine
from feltload.core import Flags, Floats, runs_of_true
from feltload.signal import ProfileEstimate

Phase = Literal["concentric", "eccentric"]

CUTOFF_HZ = 6.5
SLOWEST_RATE_RAD_S = np.deg2rad(3.0)
"""Below this a pass is turning: friction changes sign and the handle may be let go."""
TURN_S = 0.1
"""Left out before and after a turn: half the length of the filter's answer to a step."""
SHORTEST_STRETCH_RAD = np.deg2rad(5.0)
"""Help over less of the travel than this is not told from a jerk (our own convention)."""


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
    u95_n : ndarray, shape (n,)
        Half-width of the 95 % band of this pass; zero help reads within it.
    mean_n : float
        Over the travel of the pass.
    work_n_rad : float
        Help integrated over the travel.
    """

    repetition: int
    phase: Phase
    help_n: Floats
    u95_n: Floats
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
    concentric_u95_n, eccentric_u95_n : ndarray, shape (n,)
        Half-width of the 95 % band of the two means; NaN where there was no pass.
    scatter_n : float
        Standard deviation of a pass about the mean of its phase, as this session or the profile's own
        residuals show it, whichever is greater.
    helped : bool
        Whether some pass stands out of the band, by more than a hand gives without meaning to, over 5° or more.
    """

    angle_rad: Floats
    passes: tuple[DeliveredPass, ...]
    concentric_n: Floats
    eccentric_n: Floats
    concentric_u95_n: Floats
    eccentric_u95_n: Floats
    scatter_n: float
    helped: bool

    def of(self, phase: Phase) -> tuple[Floats, Floats]:
        """Mean and half-width of its band for one phase."""
        if phase == "concentric":
            return self.concentric_n, self.concentric_u95_n
        return self.eccentric_n, self.eccentric_u95_n


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

    Notes
    -----
    Variance of one pass: profile at this load, its friction, zero, lag and angle of this session, and scatter; of a
    mean of k passes the same with the scatter divided by k. The scatter is not assumed: it is the robust spread of the
    passes about their median at each position, and never less than the residual that the profile's own passes left.
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
    whole = sosfiltfilt(sos, known.astype(float)) > 0.98
    moving = np.abs(motion.rate_rad_s) > SLOWEST_RATE_RAD_S
    if motion.measured is not None:
        moving &= motion.measured
    # The filter carries the weight that a stop takes over at a turn some way back into the pass.
    around = np.ones(2 * max(1, round(TURN_S * motion.rate_hz)) + 1, dtype=bool)
    usable = binary_erosion(moving & known & whole, structure=around)
    grid = profile.angle_rad
    traces = _traces(motion, gap, usable, grid)
    if not traces:
        raise OverlapError(
            "no repetition was found in the session", remedy="record repetitions with a rest before"
        )
    scatter = max(_scatter_n(traces), float(profile.health.get("residual_n", 0.0)))
    common = _common_variance(profile, load_kg, motion) + _friction_variance(profile, scatter)
    passes = tuple(_pass(trace, np.sqrt(common + scatter**2), grid) for trace in traces)
    concentric, concentric_u95 = _mean(traces, "concentric", common, scatter)
    eccentric, eccentric_u95 = _mean(traces, "eccentric", common, scatter)
    return DeliveredHelp(
        angle_rad=grid,
        passes=passes,
        concentric_n=concentric,
        eccentric_n=eccentric,
        concentric_u95_n=concentric_u95,
        eccentric_u95_n=eccentric_u95,
        scatter_n=scatter,
        helped=any(_stands_out(p.help_n, p.u95_n, grid) for p in passes),
    )


@dataclass(frozen=True)
class _Trace:
    """One pass on the grid."""

    repetition: int
    phase: Phase
    help_n: Floats


def _traces(motion: Motion, gap: Floats, usable: Flags, grid: Floats) -> list[_Trace]:
    found = []
    for number, (start, turn, end) in enumerate(motion.repetitions):
        phases: tuple[tuple[Phase, float, float], ...] = (
            ("concentric", start, turn),
            ("eccentric", turn, end),
        )
        for phase, low, high in phases:
            inside = usable & (motion.time_s >= low) & (motion.time_s < high)
            values = on_grid(motion.angle_rad[inside], gap[inside], grid)
            if np.isfinite(values).sum() < 3:
                continue
            found.append(_Trace(number, phase, values))
    return found


def _pass(trace: _Trace, u_n: Floats, grid: Floats) -> DeliveredPass:
    good = np.isfinite(trace.help_n)
    return DeliveredPass(
        repetition=trace.repetition,
        phase=trace.phase,
        help_n=trace.help_n,
        u95_n=2.0 * u_n,
        mean_n=float(trace.help_n[good].mean()),
        work_n_rad=float(np.trapezoid(trace.help_n[good], grid[good])),
    )


def on_grid(angle: Floats, value: Floats, grid: Floats) -> Floats:
    """Samples smoothed onto grid angles: a straight line through each neighbourhood, near ones counting more.

    The neighbourhood reaches one and a half steps of the grid, or two samples where the pass was fast.

    Parameters
    ----------
    angle, value : ndarray, shape (k,)
    grid : ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (n,)
        NaN beyond the first and last sample, and across holes.
    """
    if angle.size < 3:
        return np.full(grid.size, np.nan)
    step = float(np.median(np.diff(grid)))
    spacing = float(np.quantile(np.diff(np.sort(angle)), 0.9))
    reach = max(1.5 * step, 2.0 * spacing)
    distance = angle[None, :] - grid[:, None]
    weight = np.clip(1.0 - np.abs(distance) / reach, 0.0, None)
    total = weight.sum(axis=1)
    inside = (grid >= angle.min()) & (grid <= angle.max()) & (total > 0)
    safe = np.where(total > 0, total, 1.0)
    centre = (weight * distance).sum(axis=1) / safe
    level = (weight @ value) / safe
    apart = distance - centre[:, None]
    square = (weight * apart**2).sum(axis=1)
    slope = (weight * apart * (value[None, :] - level[:, None])).sum(axis=1)
    # One sample alone, or several at one angle, have no slope.
    steep = np.where(square > 1e-3 * safe * reach**2, slope / np.maximum(square, 1e-300), 0.0)
    return np.asarray(np.where(inside, level - steep * centre, np.nan))


def _scatter_n(passes: Sequence[_Trace]) -> float:
    """Spread of the passes about their phase's median at each position; robust, so that a single odd pass or a
    partner who varies over part of the travel does not make it."""
    apart: list[Floats] = []
    for phase in ("concentric", "eccentric"):
        rows = np.stack([p.help_n for p in passes if p.phase == phase] or [np.full(1, np.nan)])
        enough = np.isfinite(rows).sum(axis=0) >= 3
        if not enough.any():
            continue
        count = np.isfinite(rows[:, enough]).sum(axis=0)
        off = np.abs(rows[:, enough] - np.nanmedian(rows[:, enough], axis=0))
        # The median of few values follows them, which shrinks what is left.
        apart.append((off * np.sqrt(count / (count - 1.0)))[np.isfinite(off)])
    # Brisk passes scatter more than slow ones, so the median would be too small for them; the 0.7 quantile of a
    # normal distribution's magnitude is 1.036 standard deviations.
    return float(np.quantile(np.concatenate(apart), 0.7)) / 1.0364 if apart else 0.0


def _common_variance(profile: ProfileEstimate, load_kg: float, motion: Motion) -> Floats:
    """Variance that all passes share: the profile at this load, and this session's zero, lag and angle."""
    line = LoadLine.of(profile)
    grid = profile.angle_rad
    static = np.interp(grid, line.angle_rad, np.clip(np.diag(line.covariance_at(load_kg)), 0.0, None))
    slope = np.gradient(profile.force_n(grid, 0.0, 0.0, load_kg), grid)
    parts = (slope * motion.u_angle_rad, motion.u_zero_n, motion.u_lag_n)
    return np.asarray(static + sum(np.square(part) for part in parts))


def _friction_variance(profile: ProfileEstimate, scatter_n: float) -> Floats:
    """Of the friction: half the gap of the profile's own passes each way, which scatter as these do."""
    passes = (profile.passes_raising + profile.passes_lowering).mean(axis=0)
    return np.asarray(scatter_n**2 / np.maximum(passes, 1.0))


def _mean(traces: Sequence[_Trace], phase: Phase, common: Floats, scatter_n: float) -> tuple[Floats, Floats]:
    """Mean of one phase's passes at each angle, and the half-width of its 95 % band."""
    mine = [t for t in traces if t.phase == phase]
    if not mine:
        nothing = np.full(common.size, np.nan)
        return nothing, nothing
    stacked = np.stack([t.help_n for t in mine])
    count = np.isfinite(stacked).sum(axis=0)
    at_least_one = np.maximum(count, 1)
    mean = np.where(count > 0, np.nansum(stacked, axis=0) / at_least_one, np.nan)
    variance = common + scatter_n**2 / at_least_one
    return np.asarray(mean), np.where(count > 0, 2.0 * np.sqrt(variance), np.nan)


def _stands_out(help_n: Floats, u95_n: Floats, grid: Floats) -> bool:
    """Whether a pass lies on one side of both its band and a hand's least force over a long enough stretch.

    At one and a half times the band: a set has many passes, and one of them is often outside a 95 % band.
    """
    limit = np.maximum(1.5 * u95_n, FEELABLE_N)
    needed = max(2, round(SHORTEST_STRETCH_RAD / float(np.median(np.diff(grid)))))
    return any(_longest_run(sign * help_n > limit) >= needed for sign in (1.0, -1.0))


def _longest_run(mask: Flags) -> int:
    return max((stop - first for first, stop in runs_of_true(mask)), default=0)
