"""Inertial samples made ready for the hinge smoother: integrated about the axis, on a working grid."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy

from feltload.core import Flags, Floats, runs_of_true
from feltload.signal.hinge.axis import hinge_axis
from feltload.signal.hinge.holes import hole_s, turn_u_rad
from feltload.signal.hinge.samples import InertialSamples
from feltload.signal.noise.filters import (
    GAP_PERIODS,
    UniformSamples,
    derivative,
    resample,
    uniform_times,
)

#: The equations of the accelerometer are set up at about this rate; people move far below half of it.
WORKING_HZ = 100.0
#: Samples this near to even steps are treated as even: a thousandth of a period turns the arm by microradians.
EVEN_PERIODS = 1e-3


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
    holes : tuple of (start_s, stop_s, u_rad)
        Silences that cut the record into pieces, and how uncertain the turn over each is.
    rolling_m : float
        Radius of a wheel that may roll, so that its axle travels as it turns; 0 for a fixed hinge.
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
    holes: tuple[tuple[float, float, float], ...]
    rolling_m: float = 0.0


def hinge_data(samples: InertialSamples, axis: Floats | None = None, *, rolling_m: float = 0.0) -> HingeData:
    """Integrate about the hinge axis and bring everything to the working grid."""
    if axis is None:
        # Clipped on one axis, a sample points elsewhere.
        axis = hinge_axis(samples.gyro[~samples.gyro_clipped])
    rate = samples.gyro @ axis
    turned = integrate(samples.time_s, rate)
    block = max(1, int(samples.rate_hz / WORKING_HZ))
    columns = np.column_stack([turned, rate, samples.accel])
    bad = samples.accel_clipped | samples.gyro_clipped
    # No block reaches across a hole.
    blocks = [block_means(samples.time_s[piece], columns[piece], block) for piece in samples.pieces]
    times, means = (np.concatenate(parts) for parts in zip(*blocks, strict=True))
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
        valid &= ~scipy.ndimage.binary_dilation(hit, iterations=2)
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
        holes=_holes(samples, rate),
        rolling_m=rolling_m,
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


def _holes(samples: InertialSamples, rate: Floats) -> tuple[tuple[float, float, float], ...]:
    """Silences between the pieces, each with how uncertain the turn over it is."""
    out = []
    for before, after in pairwise(samples.pieces):
        start_s, stop_s = float(samples.time_s[before.stop - 1]), float(samples.time_s[after.start])
        out.append(
            (
                start_s,
                stop_s,
                turn_u_rad(stop_s - start_s, float(rate[before.stop - 1]), float(rate[after.start])),
            )
        )
    return tuple(out)


def _breaks(samples: InertialSamples, rate: Floats) -> tuple[tuple[float, float, float], ...]:
    """Spans in which the gyro does not tell the rotation, each with how uncertain it is there."""
    times = samples.time_s
    step = np.diff(times)
    out = []
    for i in np.flatnonzero((step > GAP_PERIODS / samples.rate_hz) & (step <= hole_s(samples.rate_hz))):
        swing = max(abs(rate[i + 1] - rate[i]), 0.5 * max(abs(rate[i]), abs(rate[i + 1])), 0.1)
        out.append((float(times[i]), float(times[i + 1]), float(swing * step[i] / 3.0)))
    for start, stop in runs_of_true(samples.gyro_clipped):
        length = (stop - start) / samples.rate_hz
        out.append((float(times[start]), float(times[stop - 1]), float(length * np.abs(rate[start]) * 0.5)))
    return tuple(out)
