"""Zero-phase low-pass, smoothing derivatives and uniform grids: linear filters shared by the whole layer.

Everything here is linear in the samples. That is what allows an equation to be kept exact by passing both of
its sides through the same filter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from feltload.core import Flags, Floats
from feltload.signal.errors import SignalError
from feltload.signal.noise.kernels import derivative_kernels

#: Steps longer than this many sampling periods are gaps: nothing is interpolated across them.
GAP_PERIODS = 3.5


def two_pass_factor(passes: int = 2, *, order: int = 2) -> float:
    """Ratio of the cut-off after several passes to the cut-off of one pass of a Butterworth filter.

    Parameters
    ----------
    passes : int
        How often the filter runs over the data; forward and back makes two.
    order : int
        Order of the filter of one pass.

    Returns
    -------
    float
        ``(2**(1/passes) - 1)**(1/(2*order))``; 0.802243 for two passes of second order.

    References
    ----------
    D. A. Winter, Biomechanics and Motor Control of Human Movement: the dual-pass correction.
    """
    return float((2.0 ** (1.0 / passes) - 1.0) ** (1.0 / (2.0 * order)))


def lowpass(values: ArrayLike, rate_hz: float, cutoff_hz: float, *, order: int = 2) -> Floats:
    """Low-pass with zero phase: a Butterworth filter run forward and back along the first axis.

    Parameters
    ----------
    values : array_like, shape (n,) or (n, k)
        Samples on a uniform grid.
    rate_hz : float
        Sampling rate, Hz.
    cutoff_hz : float
        Frequency at which the result of both passes is down by 3 dB. From 0.45 of the rate on, the samples
        come back unfiltered.
    order : int
        Order of one pass.

    Returns
    -------
    ndarray, same shape
    """
    samples = np.asarray(values, dtype=float)
    if cutoff_hz <= 0.0 or rate_hz <= 0.0:
        raise SignalError(f"cut-off {cutoff_hz} Hz at {rate_hz} Hz", remedy="both must be positive")
    # The correction applies to the analogue prototype, so it is made on the pre-warped frequency.
    warped = np.tan(np.pi * min(cutoff_hz / rate_hz, 0.4999)) / two_pass_factor(order=order)
    design_hz = rate_hz * np.arctan(warped) / np.pi
    if cutoff_hz >= 0.45 * rate_hz or len(samples) < 4:
        return samples.copy()
    sections = scipy.signal.butter(order, design_hz, fs=rate_hz, output="sos")
    pad = min(len(samples) - 1, int(np.ceil(1.5 * rate_hz / cutoff_hz)))
    return np.asarray(scipy.signal.sosfiltfilt(sections, samples, axis=0, padtype="odd", padlen=pad))


def derivative(values: ArrayLike, rate_hz: float, *, half_width_s: float = 0.03, order: int = 1) -> Floats:
    """Smoothing derivative by a local fourth-degree polynomial (Savitzky-Golay), centred: no lag.

    Parameters
    ----------
    values : array_like, shape (n,) or (n, k)
        Samples on a uniform grid.
    rate_hz : float
    half_width_s : float
        Half the length of the window, at least two samples either side.
    order : int
        1 or 2.

    Returns
    -------
    ndarray, same shape
        At the ends the first and last full window's polynomial is used.
    """
    samples = np.asarray(values, dtype=float)
    half = max(2, round(half_width_s * rate_hz))
    half = min(half, (len(samples) - 1) // 2)
    if half < 1:
        return np.zeros_like(samples)
    width = 2 * half + 1
    flat = samples.reshape(len(samples), -1)
    kernels = derivative_kernels(half, min(4, width - 1), order) * rate_hz**order
    out = np.empty_like(flat)
    for column in range(flat.shape[1]):
        out[half : len(flat) - half, column] = np.correlate(flat[:, column], kernels[half], mode="valid")
    # Ends: evaluate the polynomial of the outermost full window away from its centre.
    out[:half] = kernels[:half] @ flat[:width]
    out[len(flat) - half :] = kernels[half + 1 :] @ flat[-width:]
    return out.reshape(samples.shape)


def median_rate(time_s: ArrayLike) -> float:
    """Sampling rate in Hz from the median step of the times."""
    steps = np.diff(np.asarray(time_s, dtype=float))
    steps = steps[steps > 0.0]
    if not len(steps):
        raise SignalError("fewer than two samples at different times", remedy="record for longer")
    return float(1.0 / np.median(steps))


@dataclass(frozen=True)
class UniformSamples:
    """Samples on a uniform grid.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
    values : ndarray, shape (n,) or (n, k)
        Bridged smoothly where `valid` is false; not to be believed there.
    valid : ndarray of bool, shape (n,)
        False where the grid falls in a gap of the original samples.
    rate_hz : float
    """

    time_s: Floats
    values: Floats
    valid: Flags
    rate_hz: float


def uniform_times(start_s: float, stop_s: float, rate_hz: float) -> Floats:
    """Times from start to stop, both within, at the given rate."""
    count = int(np.floor((stop_s - start_s) * rate_hz + 1e-9)) + 1
    return start_s + np.arange(max(count, 1)) / rate_hz


def resample(time_s: ArrayLike, values: ArrayLike, grid_s: ArrayLike) -> UniformSamples:
    """Samples at uneven times onto a uniform grid, behind an anti-alias filter when the grid is coarser.

    Parameters
    ----------
    time_s : array_like, shape (n,)
        Strictly increasing.
    values : array_like, shape (n,) or (n, k)
        Finite.
    grid_s : array_like, shape (m,)
        Uniform times, for example from `uniform_times`.

    Returns
    -------
    UniformSamples
        Cubic spline between samples; points in gaps longer than `GAP_PERIODS` are marked.
    """
    times = np.asarray(time_s, dtype=float)
    samples = np.asarray(values, dtype=float)
    grid = np.asarray(grid_s, dtype=float)
    if len(times) < 2:
        raise SignalError("fewer than two samples", remedy="record for longer")
    rate = median_rate(times)
    grid_rate = median_rate(grid) if len(grid) > 1 else rate
    if grid_rate < 0.8 * rate:
        # The samples are near enough to uniform for a filter; its gain is what matters, not its exact edge.
        samples = lowpass(samples, rate, 0.4 * grid_rate, order=4)
    gap = GAP_PERIODS / rate
    right = np.clip(np.searchsorted(times, grid), 1, len(times) - 1)
    step = times[right] - times[right - 1]
    edge = 0.5 / rate
    valid = (step <= gap) & (grid >= times[0] - edge) & (grid <= times[-1] + edge)
    # Between the first and last sample of a gap the spline could swing out, so the bridge there is a line.
    interpolated = _spline(times, samples, np.clip(grid, times[0], times[-1]))
    bridged = step > gap
    if np.any(bridged):
        share = ((grid - times[right - 1]) / step)[bridged]
        left_values, right_values = samples[right - 1][bridged], samples[right][bridged]
        share = share if samples.ndim == 1 else share[:, None]
        interpolated[bridged] = left_values + share * (right_values - left_values)
    return UniformSamples(grid, interpolated, valid, grid_rate)


def _spline(times: Floats, samples: Floats, grid: Floats) -> Floats:
    if len(times) < 4:
        columns = samples.reshape(len(times), -1)
        out = np.stack([np.interp(grid, times, c) for c in columns.T], axis=1)
        return out.reshape((len(grid), *samples.shape[1:]))
    return np.asarray(scipy.interpolate.CubicSpline(times, samples, axis=0)(grid))
