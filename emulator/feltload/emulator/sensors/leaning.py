"""A sensor on an arm whose hinge leans as far as it likes, with an accelerometer whose offset walks.

Written out apart from any estimator: repetitions of drawn tempo and reach, rests on the stop, an ordinary gyroscope of
which the scale is drawn with 2 %.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial.transform import Rotation

from feltload.core import Floats

REACH_RAD = np.radians(80.0)
RADIUS_M = (0.3, 0.05)
SCALE_SD, GYRO_BIAS_SD, GYRO_DENSITY, GYRO_WALK = 0.02, 0.01, 1.5e-4, 1e-4
ACCEL_SCALE_SD, ACCEL_ANGLE_SD, ACCEL_OFFSET_SD, ACCEL_SD = 0.003, 0.002, 0.1, 0.02


def leaning(
    seed: int,
    tilt_deg: float,
    *,
    rests: bool = True,
    walk_m_s2: float = 0.02,
    seconds: float = 60.0,
    rate_hz: float = 100.0,
) -> tuple[Floats, Floats, Floats, Floats]:
    """Samples of one session and its true rotation.

    Parameters
    ----------
    seed : int
    tilt_deg : float
        Of the hinge against the horizontal, 0 to 90.
    rests : bool
        Three seconds of rest at first, and two after every sixth repetition.
    walk_m_s2 : float
        Standard deviation of how far the accelerometer's offset walks in a minute.
    seconds, rate_hz : float

    Returns
    -------
    time_s, gyro_rad_s, accel_m_s2, q_rad : ndarray, shapes (n,), (n, 3), (n, 3), (n,)
    """
    rng = np.random.default_rng([seed, 77])
    t, q = _repetitions(rng, seconds, rate_hz, rests=rests)
    w, zero = np.gradient(q, t), np.zeros(len(t))
    a = np.gradient(w, t)
    start, tilt = rng.uniform(-np.pi, np.pi), np.radians(tilt_deg)
    plane = np.stack([np.cos(start + q), -np.sin(start + q), zero], axis=1)
    up = 9.81 * (np.cos(tilt) * plane + np.sin(tilt) * np.array([0.0, 0.0, 1.0]))
    along, beside = RADIUS_M
    own = np.stack([-along * w**2 - beside * a, -beside * w**2 + along * a, zero], axis=1)
    turn = Rotation.random(rng=rng).as_matrix()
    gyro = np.stack([zero, zero, w], axis=1) @ turn.T / (1.0 + rng.normal(0.0, SCALE_SD))
    gyro += rng.normal(0.0, GYRO_BIAS_SD, 3) + _walk(rng, GYRO_WALK, gyro.shape, rate_hz)
    gyro += rng.normal(0.0, GYRO_DENSITY * np.sqrt(rate_hz), gyro.shape)
    matrix = np.eye(3) + np.diag(rng.normal(0.0, ACCEL_SCALE_SD, 3))
    matrix += np.triu(rng.normal(0.0, ACCEL_ANGLE_SD, (3, 3)), 1)
    accel = (up + own) @ turn.T @ matrix.T + rng.normal(0.0, ACCEL_OFFSET_SD, 3)
    accel += _walk(rng, walk_m_s2 / np.sqrt(60.0), accel.shape, rate_hz)
    return t, gyro, accel + rng.normal(0.0, ACCEL_SD, accel.shape), q


def _walk(rng: np.random.Generator, per_rt_s: float, shape: tuple[int, ...], rate_hz: float) -> Floats:
    return np.cumsum(rng.normal(0.0, per_rt_s / np.sqrt(rate_hz), shape), axis=0)


def _repetitions(
    rng: np.random.Generator, seconds: float, rate_hz: float, *, rests: bool
) -> tuple[Floats, Floats]:
    t = np.arange(0.0, seconds, 1.0 / rate_hz)
    q, at, count = np.zeros(len(t)), 3.0 if rests else 0.0, 0
    while at < seconds - 4.0:
        lasts, reach = rng.uniform(2.2, 4.5), REACH_RAD * rng.uniform(0.85, 1.0)
        inside = (t >= at) & (t < at + lasts)
        q[inside] = 0.5 * reach * (1.0 - np.cos(2.0 * np.pi * (t[inside] - at) / lasts))
        at, count = at + lasts, count + 1
        if rests and count % 6 == 0:
            at += 2.0
    if not rests:
        moving = t < at - 0.5
        return t[moving], q[moving]
    return t, q
