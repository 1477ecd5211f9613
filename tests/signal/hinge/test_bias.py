"""The gyro's bias and its scale error together: a rest shows the bias as it is read, scale error and all."""

import numpy as np
import pytest

from feltload.signal.hinge.estimator import estimate_hinge

RATE_HZ = 50.0


def lever(bias_rad_s, scale, seed):
    """Rests of four seconds around five repetitions of 70 degrees, horizontal hinge along z, sensor at the pivot."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(0, 36, 1 / RATE_HZ)
    inside = (time_s > 4) & (time_s < 31.5)
    phase = 2 * np.pi * (time_s - 4) / 5.5
    q = np.where(inside, np.radians(35) * (1 - np.cos(phase)), 0.0)
    rate = np.where(inside, np.radians(35) * 2 * np.pi / 5.5 * np.sin(phase), 0.0)
    gyro = np.column_stack([0 * q, 0 * q, (1 + scale) * rate]) + bias_rad_s
    accel = 9.80665 * np.column_stack([np.sin(q + 0.3), np.cos(q + 0.3), 0 * q])
    gyro += rng.normal(0, np.radians(0.05), gyro.shape)
    accel += rng.normal(0, 0.03, accel.shape)
    return time_s, gyro, accel, q


@pytest.mark.parametrize("scale", [-0.02, 0.02])
def test_a_biased_gyro_finds_its_scale_as_well_as_an_unbiased_one(scale):
    bias = np.radians([1.5, -2.0, 4.0])
    errors = []
    for seed in range(11, 19):
        time_s, gyro, accel, q = lever(bias, scale, seed)
        without = estimate_hinge(time_s, gyro - bias, accel)
        found = estimate_hinge(time_s, gyro, accel)
        assert np.degrees(np.sqrt(np.mean((found.q_rad - without.q_rad) ** 2))) < 0.01
        assert found.parameters.gyro_scale == pytest.approx(1 / (1 + scale) - 1, abs=0.003)
        errors.append(np.degrees(np.sqrt(np.mean((found.q_rad - q) ** 2))))
    assert np.mean(errors) < 0.05
