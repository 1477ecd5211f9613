"""The hinge's axis in the sensor's frame, stillness, and how far the motion is from that of one hinge.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import numpy as np
import scipy

from feltload.core import Flags, Floats, runs_of_true
from feltload.signal.errors import MotionError

#: Rate about the axis that tells a movement from noise, rad/s rms.
LEAST_MOTION_RAD_S = 0.03
#: Length of the window in which stillness is judged.
STILL_S = 0.4
#: Shortest rest that counts.
REST_S = 0.6
#: A still arm's rate may wander this much, rad/s.
STILL_RAD_S = 0.012


def moments(rows: Floats) -> Floats:
    """Covariance of the columns of (n, 3), shape (3, 3)."""
    mean = np.ones(len(rows)) @ rows / len(rows)
    centred = rows - mean
    return np.asarray(centred.T @ centred / len(rows))


def hinge_axis(gyro: Floats) -> Floats:
    """Principal direction of the angular rate about its mean: a constant bias takes no part.

    Parameters
    ----------
    gyro : ndarray, shape (n, 3)
        rad/s.

    Returns
    -------
    ndarray, shape (3,)
        Unit vector; its sign is that of its largest component.
    """
    values, vectors = np.linalg.eigh(moments(gyro))
    if values[-1] < LEAST_MOTION_RAD_S**2:
        raise MotionError(
            f"the inertial sensor hardly turned ({np.degrees(np.sqrt(values[-1])):.2f} deg/s rms)",
            remedy="check that it is fixed to the moving arm and that its unit is right (1 rad/s is 57 deg/s), and "
            "record a few repetitions",
        )
    axis = vectors[:, -1]
    return np.asarray(axis * np.sign(axis[np.argmax(np.abs(axis))]))


def off_axis_share(gyro: Floats, axis: Floats) -> float:
    """Root mean square rate across the axis over that about it, both about their means."""
    spread = moments(gyro)
    total, along = float(np.trace(spread)), float(axis @ spread @ axis)
    return float(np.sqrt(max(total - along, 0.0) / along))


def still_samples(gyro: Floats, rate_hz: float) -> Flags:
    """Where the part rests: rates that hardly vary, at a level that is the sensor's bias.

    Parameters
    ----------
    gyro : ndarray, shape (n, 3)
    rate_hz : float

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    width = max(3, round(STILL_S * rate_hz))
    columns = np.ascontiguousarray(gyro.T)
    mean = scipy.ndimage.uniform_filter1d(columns, width)
    spread = np.sqrt(np.maximum(scipy.ndimage.uniform_filter1d(columns**2, width) - mean**2, 0.0).sum(axis=0))
    # The quietest windows tell the noise, however short the rests are beside the repetitions.
    fewest = max(2, round((REST_S - STILL_S) * rate_hz))
    quiet_level = float(np.partition(spread, min(fewest, len(spread) - 1))[min(fewest, len(spread) - 1)])
    quiet = spread < max(2.5 * quiet_level, STILL_RAD_S) if quiet_level < 3.0 * STILL_RAD_S else spread < 0.0
    # Steady turning is quiet too. What comes back to where it was has a mean rate near the sensor's bias, so far off as
    # one turn of half a circle makes it.
    overall = np.mean(columns, axis=1)
    quiet &= np.sum((mean - overall[:, None]) ** 2, axis=0) < (STILL_RAD_S + np.pi * rate_hz / len(gyro)) ** 2
    if not np.any(quiet):
        return np.asarray(quiet)
    # Of these, the windows whose mean is common to most.
    level = np.median(mean[:, quiet], axis=1)
    near = np.sum((mean - level[:, None]) ** 2, axis=0) < STILL_RAD_S**2
    return _long_runs(quiet & near, fewest)


def _long_runs(flags: Flags, shortest: int) -> Flags:
    out = np.zeros(len(flags), dtype=bool)
    for start, stop in runs_of_true(flags):
        out[start:stop] = stop - start >= shortest
    return out
