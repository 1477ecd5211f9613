"""Where hands come on or go off within a few degrees: what smoothing took is put back, and its remainder bounded."""

from __future__ import annotations

import numpy as np
import scipy

from feltload.core import EXPANDED_COVERAGE_K, Floats

STANDS_OUT = 4.0
"""Times its noise, what one more smoothing takes off comes from an edge."""
REMAINDER = 3.5
"""What is left to put back is at most this many times what one more smoothing takes: at a sharp edge that is less
than the first took (`benchmarks/study_delivered_help.py`)."""
SPREAD_RAD = float(np.deg2rad(2.0))
"""Beside an edge the error is as large as on it, though what smoothing takes off changes its sign in between."""
REACH_PERIODS = 3.0
"""It reaches as far as the arm turns in this many radians of the cutoff's period, if that is more."""


def edge_spread_rad(rate_rad_s: float, cutoff_hz: float) -> float:
    """How far beside an edge the error reaches when the arm turns so fast through a filter of this cutoff."""
    return max(SPREAD_RAD, REACH_PERIODS * rate_rad_s / (2.0 * np.pi * cutoff_hz))


def sharpened(angle_rad: Floats, help_n: Floats, taken_off_n: Floats, noise_n: float) -> Floats:
    """Help with what smoothing took off at edges put back, N, shape (n,); elsewhere as it was.

    Parameters
    ----------
    angle_rad, help_n : ndarray, shape (n,)
        Even angles; smoothed help there, NaN where there is none.
    taken_off_n : ndarray, shape (n,)
        What smoothing it once more takes off.
    noise_n : float
        Standard deviation of `taken_off_n` from noise alone.
    """
    edge = np.nan_to_num(np.abs(taken_off_n)) > STANDS_OUT * noise_n
    near = scipy.ndimage.maximum_filter1d(edge, _width(angle_rad, SPREAD_RAD))
    return np.where(near, help_n + taken_off_n, help_n)


def edge_u95_n(
    angle_rad: Floats,
    help_n: Floats,
    taken_off_n: Floats,
    noise_n: Floats | float,
    u_angle_rad: float,
    spread_rad: float = SPREAD_RAD,
) -> Floats:
    """Half-width that edges add to the 95 % band of a curve of help, shape (n,).

    Parameters
    ----------
    angle_rad, help_n, taken_off_n : ndarray, shape (n,)
        As for `sharpened`.
    noise_n : ndarray, shape (n,), or float
        As for `sharpened`; what lies within two of it is no edge.
    u_angle_rad : float
        Standard uncertainty of the angle.
    spread_rad : float
        How far the error reaches beside an edge.
    """
    known = np.isfinite(help_n)
    if known.sum() < 2:
        return np.full(help_n.size, np.nan)
    excess = np.clip(np.abs(np.where(known, taken_off_n, 0.0)) - EXPANDED_COVERAGE_K * noise_n, 0.0, None)
    smoothing = REMAINDER * scipy.ndimage.maximum_filter1d(excess, _width(angle_rad, spread_rad))
    slope = np.gradient(np.interp(angle_rad, angle_rad[known], help_n[known]), angle_rad)
    return np.asarray(np.hypot(smoothing, EXPANDED_COVERAGE_K * u_angle_rad * slope))


def _width(angle_rad: Floats, spread_rad: float) -> int:
    """Angles within the spread on both sides."""
    step = float(np.median(np.diff(angle_rad)))
    return 1 + 2 * round(spread_rad / step)
