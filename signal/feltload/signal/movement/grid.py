"""Force and motion of one session on one uniform grid, the force shifted by a given lag."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy

from feltload.core import Flags, Floats
from feltload.signal.errors import ProfileError
from feltload.signal.movement.attitude import Attitude
from feltload.signal.noise.kernels import lowpass_kernel
from feltload.signal.zero.course import ZeroDrift, ZeroKnown

GRID_HZ = 100.0
"""Rate of the common grid: far above what a person moves (below 6 Hz: common practice, no source)."""

GAP_S = 0.25
"""A silence of the force longer than this (or than six samples) is a gap: nothing is interpolated across it."""

MOTION_GAP_S = 0.15
"""The same for the motion, which changes faster."""

GAP_STEPS = 6.0

FILTER_SAMPLES = 8
"""Reach of the filter that thins a fast stream, in samples of the thinned one."""


@dataclass(frozen=True)
class Rotation:
    """Rotation of the arm on its own sample times.

    Attributes
    ----------
    time_s, q_rad, rate_rad_s, accel_rad_s2, u_q_rad : ndarray, shape (n,)
        Time, rotation from the start stop, its derivatives, standard uncertainty of the rotation.
    u_shape_rad : ndarray, shape (n,)
        Part of the uncertainty that is the same at a position in every repetition, beside the next two.
    u_scale, u_reference_rad : float
        Parts that are proportional to `q_rad`, and common to all samples.
    """

    time_s: Floats
    q_rad: Floats
    rate_rad_s: Floats
    accel_rad_s2: Floats
    u_q_rad: Floats
    u_shape_rad: Floats
    u_scale: float
    u_reference_rad: float


@dataclass(frozen=True)
class Series:
    """A signal at (nearly) equal steps.

    Attributes
    ----------
    time_s, value : ndarray, shape (n,)
        Ascending times and values.
    gap_s : float
        Longest step that may be interpolated across.
    """

    time_s: Floats
    value: Floats
    gap_s: float

    @cached_property
    def _spline(self) -> scipy.interpolate.CubicSpline:
        return scipy.interpolate.CubicSpline(self.time_s, self.value)

    def at(self, time_s: Floats) -> Floats:
        """Values at other times (cubic); the ends are held."""
        return np.asarray(self._spline(np.clip(time_s, self.time_s[0], self.time_s[-1])))

    def valid(self, time_s: Floats) -> Flags:
        """Whether a time lies between two samples close enough to interpolate."""
        index = np.searchsorted(self.time_s, time_s)
        inside = (index > 0) & (index < self.time_s.size)
        index = np.clip(index, 1, self.time_s.size - 1)
        return np.asarray(inside & (self.time_s[index] - self.time_s[index - 1] <= self.gap_s))


@dataclass(frozen=True)
class Aligned:
    """One session on its grid.

    Attributes
    ----------
    name, side, load_kg : str, str or None, float
        Of the session.
    rate_hz : float
        Rate of the grid.
    time_s, q_rad, rate_rad_s, accel_rad_s2, u_q_rad, u_shape_rad : ndarray, shape (n,)
        Motion on the grid.
    u_scale, u_reference_rad : float
        As in `Rotation`.
    moving_valid : ndarray of bool, shape (n,)
        False in gaps of the inertial stream.
    force : Series
        Force as it arrived (its lag still in it), no faster than the grid.
    force_step_s, motion_step_s : float
        Native sample intervals of the two streams.
    drift_taken_rad : float
        Largest drift of the angle that the force showed and that was taken off `q_rad`.
    attitude : Attitude, optional
        What gravity said of hinge and sensor.
    ringing_hz : float or None
        Lowest frequency at which the machine itself rings, where it does.
    unfelt_n : ndarray, shape (n,), or None
        What a stop or an open joint bears of the force that the arm's motion needs; None on a rigid machine.
    zero_known : ZeroKnown, optional
        What is known of the force's zero after the tare; without it no drift is looked for.
    zero_drift : ZeroDrift, optional
        Drift of the zero that the repetitions showed and that was taken off `force`.
    """

    name: str
    side: str | None
    load_kg: float
    rate_hz: float
    time_s: Floats
    q_rad: Floats
    rate_rad_s: Floats
    accel_rad_s2: Floats
    u_q_rad: Floats
    u_shape_rad: Floats
    u_scale: float
    u_reference_rad: float
    moving_valid: Flags
    force: Series
    force_step_s: float
    motion_step_s: float
    drift_taken_rad: float = 0.0
    attitude: Attitude | None = None
    ringing_hz: float | None = None
    unfelt_n: Floats | None = None
    zero_known: ZeroKnown | None = None
    zero_drift: ZeroDrift | None = None


def ordered(time_s: Floats, *values: Floats) -> tuple[Floats, ...]:
    """Finite samples only, in ascending time, one per instant."""
    good = np.isfinite(time_s)
    for value in values:
        good &= np.isfinite(value)
    if np.all(good) and np.all(np.diff(time_s) > 0):
        return (time_s, *values)
    order = np.argsort(time_s[good], kind="stable")
    time = time_s[good][order]
    keep = np.concatenate([[True], np.diff(time) > 0]) if time.size else np.zeros(0, bool)
    return (time[keep], *(value[good][order][keep] for value in values))


def silences(time_s: Floats) -> list[tuple[float, float]]:
    """Spans without samples of the force that nothing is interpolated across."""
    step = np.diff(time_s)
    return [
        (float(time_s[k]), float(time_s[k + 1]))
        for k in np.flatnonzero(step > max(GAP_S, GAP_STEPS * float(np.median(step))))
    ]


def _thinned(time_s: Floats, columns: Sequence[Floats], to_hz: float) -> tuple[Floats, Floats, float]:
    """Columns low-passed and taken at no more than about `to_hz`, on an even grid; native step too.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
    columns : sequence of ndarray, shape (n,)
        One by one, so that a long session need not be in memory twice.

    Returns
    -------
    ndarray, shape (m,)
    ndarray, shape (m, len(columns))
    float
    """
    step = float(np.median(np.diff(time_s)))
    factor = int(np.floor(1.0 / (step * to_hz)))
    if factor < 2:
        return time_s, np.stack(columns, axis=1), step
    even = time_s[0] + step * np.arange(int((time_s[-1] - time_s[0]) / step) + 1)
    half = FILTER_SAMPLES * factor
    kernel = lowpass_kernel(half, 0.8 / factor, beta=6.0)
    count = (even.size - 1) // factor + 1
    out = np.empty((count, len(columns)))
    for k, column in enumerate(columns):
        series = np.interp(even, time_s, column)
        padded = np.concatenate([np.full(half, series[0]), series, np.full(half, series[-1])])
        out[:, k] = np.lib.stride_tricks.sliding_window_view(padded, kernel.size)[::factor] @ kernel
    return even[::factor].copy(), out, step


def thinned_series(time_s: Floats, value: Floats, rate_hz: float) -> tuple[Series, float]:
    """A signal no faster than about `rate_hz`, with its gaps, and its native step.

    Parameters
    ----------
    time_s, value : ndarray, shape (n,)
        As `ordered` gives them.
    rate_hz : float

    Returns
    -------
    Series
    float
    """
    thin_time, thin, step = _thinned(time_s, [value], rate_hz)
    gap_s = max(GAP_S, GAP_STEPS * step)
    if thin_time.size == time_s.size:
        return Series(thin_time, thin[:, 0], gap_s), step
    # The even grid runs through gaps; cut them out again.
    real = _beyond_the_filter(Series(time_s, value, gap_s).valid(thin_time[1:-1]))
    keep = np.concatenate([[True], real, [True]])
    return Series(thin_time[keep], thin[keep, 0], gap_s), step


def _beyond_the_filter(valid: Flags) -> Flags:
    """Valid samples that the filter of `_thinned` does not make up from the other side of a gap."""
    return np.asarray(
        valid if np.all(valid) else ~scipy.ndimage.binary_dilation(~valid, iterations=FILTER_SAMPLES)
    )


def align(
    name: str,
    motion: Rotation,
    force_time_s: Floats,
    force_n: Floats,
    *,
    load_kg: float,
    side: str | None = None,
    rate_hz: float = GRID_HZ,
) -> Aligned:
    """Put both streams of a session on one grid.

    Raises
    ------
    ProfileError
        When the streams do not overlap in time or are too short.
    """
    time, force = ordered(np.asarray(force_time_s, float), np.asarray(force_n, float))
    moved = ordered(
        motion.time_s,
        motion.q_rad,
        motion.rate_rad_s,
        motion.accel_rad_s2,
        motion.u_q_rad,
        motion.u_shape_rad,
    )
    if time.size < 20 or moved[0].size < 20:
        raise ProfileError(
            "too few samples to estimate from", where=name, remedy="check that both sensors sent"
        )
    low, high = max(time[0], moved[0][0]), min(time[-1], moved[0][-1])
    if high - low < 1.0:
        raise ProfileError(
            f"force ({time[0]:.1f} to {time[-1]:.1f} s) and inertial stream "
            f"({moved[0][0]:.1f} to {moved[0][-1]:.1f} s) hardly overlap in time",
            where=name,
            remedy="record both at once, or give host_time_s in both files",
        )
    series, force_step = thinned_series(time, force, rate_hz)
    motion_time, columns, motion_step = _thinned(moved[0], moved[1:], rate_hz)
    grid = np.arange(np.ceil(low * rate_hz), np.floor(high * rate_hz) + 1) / rate_hz
    splines = scipy.interpolate.CubicSpline(motion_time, columns)(grid)
    valid = Series(moved[0], moved[1], max(MOTION_GAP_S, GAP_STEPS * motion_step)).valid(grid)
    if motion_time.size != moved[0].size:
        valid = _beyond_the_filter(valid)
    return Aligned(
        name=name,
        side=side,
        load_kg=load_kg,
        rate_hz=rate_hz,
        time_s=grid,
        q_rad=np.asarray(splines[:, 0]),
        rate_rad_s=np.asarray(splines[:, 1]),
        accel_rad_s2=np.asarray(splines[:, 2]),
        u_q_rad=np.abs(splines[:, 3]),
        u_shape_rad=np.abs(splines[:, 4]),
        u_scale=motion.u_scale,
        u_reference_rad=motion.u_reference_rad,
        moving_valid=valid,
        force=series,
        force_step_s=force_step,
        motion_step_s=motion_step,
    )
