"""Filters that need no more than numpy.

`scipy.signal` has the same, but loading it costs more than estimating a profile.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.polynomial import polynomial

from feltload.core import Floats


def lowpass_kernel(half: int, cutoff: float, *, beta: float) -> Floats:
    """Low-pass by a windowed sinc: zero phase, gain 1 for what stands still.

    Parameters
    ----------
    half : int
        Weights on either side of the middle one.
    cutoff : float
        Frequency of half the amplitude, as a share of half the sampling rate.
    beta : float
        Shape of the Kaiser window: more damps better and falls off slower.

    Returns
    -------
    ndarray, shape (2 * half + 1,)
    """
    weights = np.sinc(cutoff * np.arange(-half, half + 1)) * np.kaiser(2 * half + 1, beta)
    return np.asarray(weights / weights.sum())


@lru_cache(maxsize=32)
def derivative_kernels(half: int, degree: int, order: int) -> Floats:
    """Derivative of the polynomial fitted to a window, at each place of the window (Savitzky and Golay).

    Parameters
    ----------
    half : int
        Samples on either side of the window's middle.
    degree : int
        Of the polynomial, below the number of samples.
    order : int
        Of the derivative.

    Returns
    -------
    ndarray, shape (2 * half + 1, 2 * half + 1)
        A row of weights for each place; derivative per sample.
    """
    place = np.arange(-half, half + 1) / half
    coefficients = np.linalg.pinv(polynomial.polyvander(place, degree))
    slopes = polynomial.polyder(coefficients, order)
    return np.asarray(polynomial.polyvander(place, degree - order) @ slopes / half**order)


def highpass(values: Floats, rate_hz: float, cutoff_hz: float, *, order: int = 3) -> Floats:
    """High-pass with zero phase: a Butterworth filter forward and back, by its gain at each frequency.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Samples on a uniform grid.
    rate_hz : float
    cutoff_hz : float
        Frequency at which both passes leave half of the amplitude.
    order : int
        Of one pass.

    Returns
    -------
    ndarray, shape (n,)
    """
    pad = min(values.size - 1, int(np.ceil(2.0 * rate_hz / cutoff_hz)))
    whole = np.pad(values, pad, mode="reflect", reflect_type="odd")
    # The bilinear transform warps frequencies; standing still has the gain 0.
    turn = np.tan(np.pi * np.fft.rfftfreq(whole.size)[1:])
    gain = 1.0 / (1.0 + (np.tan(np.pi * cutoff_hz / rate_hz) / turn) ** (2 * order))
    spectrum = np.fft.rfft(whole) * np.concatenate([[0.0], gain])
    return np.asarray(np.fft.irfft(spectrum, whole.size)[pad : pad + values.size])
