"""Inertial samples made ready for the hinge smoother: cleaned, integrated about the axis, on a working grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.ndimage import binary_dilation

from feltload.core import Flags, Floats, runs_of_true
from feltload.signal.errors import MotionError
from feltload.signal.hinge.axis import hinge_axis
from feltload.signal.hinge.outliers import bridged, disturbed_stretches, wild_samples
from feltload.signal.noise.filters import (
    GAP_PERIODS,
    UniformSamples,
    derivative,
    median_rate,
    resample,
    uniform_times,
)

#: The equations of the accelerometer are set up at about this rate; people move far below half of it.
WORKING_HZ = 100.0
#: No accelerometer range ends below 2 g, and no gyro range below 125 degrees per second.
SMALLEST_ACCEL_RANGE_M_S2 = 18.5
SMALLEST_GYRO_RANGE_RAD_S = 2.1
#: A limit set lower (by a scale or a logger) shows as so many flat tops of so many samples, on a signal of finer steps.
FLAT_RUNS, FLAT_SAMPLES, FINE_STEPS = 3, 5, 20
SHORTEST_S = 2.0
#: Samples this near to even steps are taken for even: a thousandth of a period turns the arm by microradians.
EVEN_PERIODS = 1e-3
#: A link that repeats its last reading this often has lost the sensor; a resting arm may repeat itself.
STUCK_SAMPLES = 4
STUCK_RAD_S = 0.1


@dataclass(frozen=True)
class InertialSamples:
    """Clean samples in time order.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Strictly increasing.
    gyro, accel : ndarray, shape (n, 3)
    gyro_clipped, accel_clipped : ndarray of bool, shape (n,)
    rate_hz : float
    warnings : tuple of str
    """

    time_s: Floats
    gyro: Floats
    accel: Floats
    gyro_clipped: Flags
    accel_clipped: Flags
    rate_hz: float
    warnings: tuple[str, ...]


def clean_samples(time_s: ArrayLike, gyro_rad_s: ArrayLike, accel_m_s2: ArrayLike) -> InertialSamples:
    """Finite samples in increasing time, with clipped ones marked."""
    times = np.asarray(time_s, dtype=float).ravel()
    gyro, accel = np.asarray(gyro_rad_s, dtype=float), np.asarray(accel_m_s2, dtype=float)
    if gyro.shape != (len(times), 3) or accel.shape != (len(times), 3):
        raise MotionError(
            f"gyro {gyro.shape} and accelerometer {accel.shape} for {len(times)} times",
            remedy="give three columns of each per sample",
        )
    # What is not finite shows in the sum: three reductions along short rows are saved.
    good = np.isfinite(times + gyro @ np.ones(3) + accel @ np.ones(3))
    warnings = (
        [] if np.all(good) else [f"{int((~good).sum())} inertial samples without a value were left out"]
    )
    kept = times[good]
    order = np.flatnonzero(good)
    if len(kept):
        newest = np.maximum.accumulate(kept)
        rising = np.concatenate([[True], kept[1:] > newest[:-1]])
        if not np.all(rising):
            warnings.append(f"{int((~rising).sum())} inertial samples with repeated times were left out")
            order = order[rising]
    all_kept = len(order) == len(times)
    stuck = _stuck(gyro, accel) if all_kept else _stuck(gyro[order], accel[order])
    if np.any(stuck):
        warnings.append(
            f"the inertial sensor sent the same reading {int(stuck.sum())} times over while moving, from"
            f" {times[order[stuck]][0]:.2f} s to {times[order[stuck]][-1]:.2f} s: left out as a gap"
        )
        order = order[~stuck]
    if len(order) < 8 or times[order[-1]] - times[order[0]] < SHORTEST_S:
        raise MotionError(
            "less than two seconds of inertial data", remedy="record a rest and a few repetitions"
        )
    if len(order) < len(times):
        times, gyro, accel = times[order], gyro[order], accel[order]
    rate_hz = median_rate(times)
    wild = wild_samples(times, gyro, accel, rate_hz)
    if np.any(wild):
        warnings.append(
            f"the gyroscope sent {int(wild.sum())} wild sample{'s' if wild.sum() > 1 else ''}, the first at"
            f" {times[wild][0]:.2f} s, replaced from the neighbours: check the sensor's wiring"
        )
        gyro = bridged(times, gyro, wild)
    disturbed = disturbed_stretches(gyro, rate_hz)
    if np.any(disturbed):
        where = times[disturbed]
        warnings.append(
            f"the gyroscope jumps about in {int(disturbed.sum())} samples from {where[0]:.2f} s to {where[-1]:.2f} s,"
            " taken for unknown rotation there: check the sensor's wiring"
        )
        gyro = bridged(times, gyro, disturbed)
    gyro_clipped = _clipped(gyro, SMALLEST_GYRO_RANGE_RAD_S, 4)
    accel_clipped = _clipped(accel, SMALLEST_ACCEL_RANGE_M_S2, 2)
    for name, flags in (("gyroscope", gyro_clipped), ("accelerometer", accel_clipped)):
        if np.any(flags):
            where = times[flags]
            warnings.append(
                f"the {name} was at its limit in {int(flags.sum())} samples from {where[0]:.2f} s to {where[-1]:.2f} s"
            )
    gyro_clipped |= disturbed
    return InertialSamples(times, gyro, accel, gyro_clipped, accel_clipped, rate_hz, tuple(warnings))


def _stuck(gyro: Floats, accel: Floats) -> Flags:
    """Repetitions of a reading, all six numbers alike, that goes on for several samples away from rest."""
    flags = np.zeros(len(gyro), dtype=bool)
    # One column rules most samples out at once.
    alike = np.flatnonzero(gyro[1:, 0] == gyro[:-1, 0]) + 1
    for column in (*gyro.T[1:], *accel.T):
        alike = alike[column[alike] == column[alike - 1]]
    flags[alike] = True
    if len(alike) < STUCK_SAMPLES:
        return np.zeros(len(gyro), dtype=bool)
    turning = np.linalg.norm(gyro - np.median(gyro, axis=0), axis=1) > STUCK_RAD_S
    for start, stop in runs_of_true(flags & turning):
        flags[start:stop] = stop - start >= STUCK_SAMPLES
    return np.asarray(flags & turning)


def _clipped(values: Floats, smallest_range: float, fewest: int) -> Flags:
    """Samples at an extreme that the column reaches several times.

    Either no working range lies below it, or the column stays at it for several samples again and again, which a
    signal of finer steps than that never does by itself.
    """
    flags = np.zeros(len(values), dtype=bool)
    for column in np.ascontiguousarray(values.T):
        for extreme in (column.max(), column.min()):
            at = column == extreme
            count = np.count_nonzero(at)
            if count >= fewest and (abs(extreme) >= smallest_range or _flat_top(column, extreme, at)):
                flags |= at
    return flags


def _flat_top(column: Floats, extreme: float, at: Flags) -> bool:
    if np.count_nonzero(at) < FLAT_RUNS * FLAT_SAMPLES:
        return False
    flat = sum(stop - start >= FLAT_SAMPLES for start, stop in runs_of_true(at))
    near = column[np.abs(column - extreme) < 0.1 * abs(extreme)]
    return flat >= FLAT_RUNS and len(np.unique(near)) > FINE_STEPS


@dataclass(frozen=True)
class HingeData:
    """What the smoother works on.

    Attributes
    ----------
    axis : ndarray, shape (3,)
        Hinge axis in the sensor's frame, unit length.
    time_s : ndarray, shape (m,)
        Working grid, evenly spaced.
    rate, turned, slope : ndarray, shape (m,)
        Gyro about the axis as read (rad/s), its integral (rad) and its derivative (rad/s²) on the grid.
    accel : ndarray, shape (m, 3)
        Specific force on the grid.
    valid : ndarray of bool, shape (m,)
        No gap and nothing clipped nearby.
    grid_hz : float
    sample_rate, sample_turned : ndarray, shape (n,)
        The same at full rate, on the clean samples.
    breaks : tuple of (start_s, stop_s, u_rad)
        Spans whose rotation the gyro does not know: gaps and clipping.
    """

    axis: Floats
    time_s: Floats
    rate: Floats
    turned: Floats
    slope: Floats
    accel: Floats
    valid: Flags
    grid_hz: float
    sample_rate: Floats
    sample_turned: Floats
    breaks: tuple[tuple[float, float, float], ...]


def hinge_data(samples: InertialSamples, axis: Floats | None = None) -> HingeData:
    """Integrate about the hinge axis and bring everything to the working grid."""
    if axis is None:
        # Clipped on one axis, a sample points elsewhere.
        axis = hinge_axis(samples.gyro[~samples.gyro_clipped])
    rate = samples.gyro @ axis
    turned = integrate(samples.time_s, rate)
    block = max(1, int(samples.rate_hz / WORKING_HZ))
    columns = np.column_stack([turned, rate, samples.accel])
    bad = samples.accel_clipped | samples.gyro_clipped
    times, means = block_means(samples.time_s, columns, block)
    grid_hz = samples.rate_hz / block
    even = np.linspace(times[0], times[-1], len(times))
    if np.max(np.abs(times - even)) * grid_hz < EVEN_PERIODS:
        uniform = UniformSamples(even, means, np.ones(len(even), dtype=bool), grid_hz)
    else:
        uniform = resample(times, means, uniform_times(times[0], times[-1], grid_hz))
    valid = uniform.valid.copy()
    if np.any(bad):
        near = np.clip(np.searchsorted(uniform.time_s, samples.time_s[bad]), 0, len(valid) - 1)
        hit = np.zeros(len(valid), dtype=bool)
        hit[near] = True
        valid &= ~binary_dilation(hit, iterations=2)
    values = uniform.values
    return HingeData(
        axis=axis,
        time_s=uniform.time_s,
        rate=values[:, 1],
        turned=values[:, 0],
        slope=derivative(values[:, 1], grid_hz, half_width_s=0.02),
        accel=values[:, 2:],
        valid=valid,
        grid_hz=grid_hz,
        sample_rate=rate,
        sample_turned=turned,
        breaks=_breaks(samples, rate),
    )


def integrate(times: Floats, values: Floats) -> Floats:
    """Integral from the first sample, by cubic Hermite pieces: third order better than trapezes at low rates."""
    step = np.diff(times)
    chord = np.diff(values) / step
    bend = np.zeros(len(values))
    # Slope at each sample of the parabola through it and its neighbours.
    bend[1:-1] = (chord[:-1] * step[1:] + chord[1:] * step[:-1]) / (step[:-1] + step[1:])
    bend[0], bend[-1] = chord[0], chord[-1]
    pieces = 0.5 * step * (values[:-1] + values[1:])
    smooth = step <= GAP_PERIODS * np.median(step)
    pieces += np.where(smooth, step**2 / 12.0 * (bend[:-1] - bend[1:]), 0.0)
    return np.concatenate([[0.0], np.cumsum(pieces)])


def block_means(times: Floats, columns: Floats, block: int) -> tuple[Floats, Floats]:
    """Means of `block` successive samples: times (m,) and columns (m, k)."""
    if block == 1:
        return times, columns
    count = len(times) // block
    cut = count * block
    return (
        times[:cut].reshape(count, block).mean(axis=1),
        columns[:cut].reshape(count, block, -1).mean(axis=1),
    )


def _breaks(samples: InertialSamples, rate: Floats) -> tuple[tuple[float, float, float], ...]:
    """Spans in which the gyro does not tell the rotation, each with how uncertain it is there."""
    times = samples.time_s
    step = np.diff(times)
    out = []
    for i in np.flatnonzero(step > GAP_PERIODS / samples.rate_hz):
        swing = max(abs(rate[i + 1] - rate[i]), 0.5 * max(abs(rate[i]), abs(rate[i + 1])), 0.1)
        out.append((float(times[i]), float(times[i + 1]), float(swing * step[i] / 3.0)))
    for start, stop in runs_of_true(samples.gyro_clipped):
        length = (stop - start) / samples.rate_hz
        out.append((float(times[start]), float(times[stop - 1]), float(length * np.abs(rate[start]) * 0.5)))
    return tuple(out)
