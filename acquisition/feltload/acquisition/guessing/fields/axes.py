"""Which columns are the six axes of an inertial sensor, and their scales by gravity and by turning it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from feltload.core import STANDARD_GRAVITY_M_S2, Floats

__all__ = ["FoundAxes", "find_axes"]

_PER_G = {
    **{32768.0 / full: (full, "g", full / 32768.0) for full in (2, 4, 8, 16, 32, 64, 6, 12, 24)},
    1.0: (None, "g", 1.0),
    1000.0: (None, "g", 0.001),
    STANDARD_GRAVITY_M_S2: (None, "m/s2", 1.0),
    100 * STANDARD_GRAVITY_M_S2: (None, "m/s2", 0.01),
    1000 * STANDARD_GRAVITY_M_S2: (None, "m/s2", 0.001),
    256.0: (None, "g", 1.0 / 256.0),
}
"""Counts of 1 g: full scale of 16 bits (None for numbers that have none), unit, scale. Common practice, no source."""

_PER_DEG_S = {
    **{32768.0 / full: (full, "deg/s", full / 32768.0) for full in (125, 250, 500, 1000, 2000, 4000)},
    **{1.0 / (0.035 * full / 1000): (full, "deg/s", 0.035 * full / 1000) for full in (250, 500, 1000, 2000)},
    1.0: (None, "deg/s", 1.0),
    np.pi / 180.0: (None, "rad/s", 1.0),
    16.0: (None, "deg/s", 1.0 / 16.0),
    100.0: (None, "deg/s", 0.01),
    1000.0: (None, "deg/s", 0.001),
}
"""The same for 1 deg/s."""


@dataclass(frozen=True)
class FoundAxes:
    """Six axes.

    Parameters
    ----------
    gyro, accel : int
        Index of the first column of each three.
    accel_unit, accel_scale : str, float
    full_scale_g : float or None
        Where the scale is a usual full scale of 16 bits.
    known_accel : bool
        The scale is a usual one; else gravity itself gave it.
    gyro_unit, gyro_scale : str, float
        "counts" and 1 where nobody turned the sensor enough.
    full_scale_deg_s : float or None
    known_gyro : bool
    """

    gyro: int
    accel: int
    accel_unit: str
    accel_scale: float
    full_scale_g: float | None
    known_accel: bool
    gyro_unit: str
    gyro_scale: float
    full_scale_deg_s: float | None
    known_gyro: bool


def find_axes(columns: list[Floats], time_s: Floats) -> FoundAxes | None:
    """Find accelerometer and gyro among columns that follow each other on the wire.

    Parameters
    ----------
    columns : list of float arrays, shape (n,)
        Six, or seven with a temperature between the threes.
    time_s : float array, shape (n,)
        Time of each sample.
    """
    if len(columns) not in (6, 7) or time_s.size < 20:
        return None
    starts = (0, len(columns) - 3)
    threes = [np.stack(columns[start : start + 3]) for start in starts]
    steady = [_steadiness(three) for three in threes]
    accel = int(steady[1] > steady[0])
    if steady[accel] < 4.0:
        return None
    per_g = float(np.median(np.linalg.norm(threes[accel], axis=0)))
    usual = min(_PER_G, key=lambda counts: abs(per_g / counts - 1.0))
    known = abs(per_g / usual - 1.0) < 0.06
    full_g, unit, scale = _PER_G[usual] if known else (None, "g", 1.0 / per_g)
    per_deg_s = _counts_per_deg_s(threes[1 - accel], threes[accel] / per_g, time_s)
    gyro: tuple[float | None, str, float, bool] = (None, "counts", 1.0, False)
    if per_deg_s is not None:
        nearest = min(_PER_DEG_S, key=lambda counts: abs(per_deg_s / counts - 1.0))
        if abs(per_deg_s / nearest - 1.0) < 0.06:
            gyro = (*_PER_DEG_S[nearest], True)
    return FoundAxes(
        starts[1 - accel], starts[accel], unit, scale, full_g, known, gyro[1], gyro[2], gyro[0], gyro[3]
    )


def _steadiness(three: Floats) -> float:
    """Length of a vector over its changes: gravity stays as long as it is, wherever it points."""
    length = np.linalg.norm(three, axis=0)
    middle = float(np.median(length))
    spread = float(np.median(np.abs(length - middle)))
    return middle / (spread + 1e-3 * middle + 1e-12) if middle else 0.0


def _counts_per_deg_s(gyro: Floats, gravity: Floats, time_s: Floats) -> float | None:
    """Counts of 1 deg/s, by how far gravity turned in the sensor; None where it hardly did.

    Over a short while gravity changes by minus the turn across it. Both sides are compared in stretches long
    enough for noise to average out.
    """
    steps = np.diff(time_s)
    stretch = max(3, round(0.25 / max(float(np.median(steps)), 1e-6)))
    places = np.arange(stretch, steps.size - stretch, stretch)
    if places.size < 6:
        return None
    middle = 0.5 * (gravity[:, 1:] + gravity[:, :-1])
    rate = 0.5 * (gyro[:, 1:] + gyro[:, :-1])
    smooth = np.ones(stretch // 3) / (stretch // 3)

    def over_stretches(three: Floats) -> Floats:
        averaged = np.stack([np.convolve(axis, smooth, mode="same") for axis in three])
        return np.diff(averaged[:, places], axis=1).ravel()

    # The gyro's zero is unknown too: it turns gravity as a steady rate about each axis would.
    turns = [rate, *(np.repeat(np.eye(3)[:, axis : axis + 1], steps.size, axis=1) for axis in range(3))]
    model = np.stack(
        [over_stretches(np.cumsum(np.cross(middle, turn, axis=0) * steps, axis=1)) for turn in turns], axis=1
    )
    seen = over_stretches(middle)
    if np.sqrt((seen**2).sum()) < 0.25 or not (model[:, 0] ** 2).sum() > 0:
        return None
    solution = np.linalg.lstsq(model, seen, rcond=None)[0]
    rest = seen - model @ solution
    factor = float(solution[0])
    if factor <= 0 or (rest**2).sum() > 0.2 * (seen**2).sum():
        return None
    return 1.0 / math.degrees(factor)
