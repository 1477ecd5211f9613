"""An accelerometer whose axes differ in scale bends gravity's circle: the angle's error and its stated uncertainty.

The rig is written out here: 70 degrees on a horizontal hinge, the sensor turned at random, 1 % gyro scale error.
"""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from feltload.signal.hinge.estimator import estimate_hinge

RATE_HZ = 100.0


def lever(seed, scale_sd):
    rng = np.random.default_rng(seed)
    time_s = np.arange(0, 40, 1 / RATE_HZ)
    inside = (time_s > 4) & (time_s < 36)
    phase = 2 * np.pi * (time_s - 4) / 4.0
    q = np.where(inside, np.radians(35) * (1 - np.cos(phase)), 0.0)
    rate = np.where(inside, np.radians(35) * 2 * np.pi / 4.0 * np.sin(phase), 0.0)
    turn = Rotation.random(rng=seed).as_matrix()
    start = rng.uniform(0, 2 * np.pi)
    gyro = np.column_stack([0 * q, 0 * q, 1.01 * rate]) @ turn.T + rng.normal(0, np.radians(1), 3)
    accel = 9.81 * np.column_stack([np.sin(q + start), np.cos(q + start), 0 * q]) @ turn.T
    accel = accel * (1 + rng.normal(0, scale_sd, 3)) + rng.normal(0, 0.1, 3)
    gyro += rng.normal(0, np.radians(0.05), gyro.shape)
    accel += rng.normal(0, 0.03, accel.shape)
    return time_s, gyro, accel, q


@pytest.mark.parametrize(("scale_sd", "limit_deg"), [(0.002, 0.05), (0.005, 0.12)])
def test_error_is_small_and_its_uncertainty_covers_it(scale_sd, limit_deg):
    errors, inside = [], []
    for seed in range(16):
        time_s, gyro, accel, q = lever(seed, scale_sd)
        motion = estimate_hinge(time_s, gyro, accel)
        error = motion.q_rad - q
        errors.append(np.degrees(np.sqrt(np.mean(error**2))))
        inside.append(np.mean(np.abs(error) < 1.96 * motion.u_q_rad))
    assert np.mean(errors) < limit_deg
    assert np.mean(inside) > 0.9
