"""An arm on a hinge that goes from one angle to the next as written, and what a sensor on it reads."""

from __future__ import annotations

import numpy as np

SLOPE_S = 1.0
BIAS = 0.012
MOUNT_M = np.array([0.3, 0.1])


def ramps(time_s: np.ndarray, stops: list[tuple[float, float]]) -> np.ndarray:
    """Angle that goes within a second to each of these angles (degrees) from each of these times on, smoothly."""
    q, before = np.zeros(time_s.size), 0.0
    for at_s, to in stops:
        share = np.clip((time_s - at_s) / SLOPE_S, 0.0, 1.0)
        q += (to - before) * (10.0 * share**3 - 15.0 * share**4 + 6.0 * share**5)
        before = to
    return np.radians(q)


def record(stops, *, seconds=24.0, way=1.0, cut=(), rate_hz=100.0, bias=BIAS, upright=False):
    """Times, gyroscope, accelerometer, and the true angle: gravity 9.81, the sensor 0.3 m along and 0.1 m beside.

    Nothing is recorded in the spans `cut` (seconds); the hinge of an arm that is `upright` stands on end.
    """
    rng = np.random.default_rng(4)
    fine = np.arange(0.0, seconds, 0.1 / rate_hz)
    q = way * ramps(fine, stops)
    rate = np.gradient(q, fine)
    slope = np.gradient(rate, fine)
    start = 0.4
    up = 9.81 * np.column_stack([np.cos(start + q), -np.sin(start + q), 0.0 * q])
    if upright:
        up = np.tile([0.0, 0.0, 9.81], (q.size, 1))
    own = np.column_stack(
        [
            -(rate**2) * MOUNT_M[0] - slope * MOUNT_M[1],
            -(rate**2) * MOUNT_M[1] + slope * MOUNT_M[0],
            0.0 * q,
        ]
    )
    pick = np.arange(0, fine.size, 10)
    pick = pick[np.all([(fine[pick] < a) | (fine[pick] > b) for a, b in cut] or [pick >= 0], axis=0)]
    gyro = np.column_stack([0.0 * q, 0.0 * q, rate + bias])[pick] + 5e-4 * rng.standard_normal((pick.size, 3))
    accel = (up + own)[pick] + 5e-3 * rng.standard_normal((pick.size, 3))
    return fine[pick], gyro, accel, q[pick], slope[pick]
