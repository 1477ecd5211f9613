"""Where the sensor sits tells the gyro's scale: centripetal acceleration goes with its square, tangential with itself.

The rig is written out here: a hinge 15 degrees from vertical, the sensor a quarter of a metre out and turned at random,
repetitions of several tempi, a full matrix of accelerometer errors, and the masses of its axes apart as in a real chip.
"""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact

RATE_HZ = 100.0
ARC_RAD = np.radians(70.0)


def steep_arm(seed, apart_m):
    rng = np.random.default_rng(seed)
    time_s = np.arange(0, 52, 1 / RATE_HZ)
    q, rate, accel = (np.zeros_like(time_s) for _ in range(3))
    begin = 3.0
    for period in (5.0, 4.0, 3.0, 2.2, 1.8, 5.0, 3.5, 2.5, 2.0, 1.6, 4.5, 3.0):
        inside = (time_s >= begin) & (time_s < begin + period)
        turn = 2 * np.pi / period
        phase = turn * (time_s[inside] - begin)
        q[inside] = 0.5 * ARC_RAD * (1 - np.cos(phase))
        rate[inside] = 0.5 * ARC_RAD * turn * np.sin(phase)
        accel[inside] = 0.5 * ARC_RAD * turn**2 * np.cos(phase)
        begin += period + 0.6
    mount = Rotation.random(rng=seed).as_matrix()
    angle = q + rng.uniform(0, 2 * np.pi)
    plane, along = 9.80665 * np.sin(np.radians(15)), 9.80665 * np.cos(np.radians(15))

    def felt(out_m, beside_m):
        return np.column_stack(
            [
                plane * np.sin(angle) - out_m * rate**2 - beside_m * accel,
                plane * np.cos(angle) + out_m * accel - beside_m * rate**2,
                np.full_like(q, along),
            ]
        )

    # Each axis of the accelerometer has its own place.
    places = rng.normal(0, apart_m, (3, 2)) + (0.25, 0.02)
    specific = np.column_stack([felt(*place) @ row for place, row in zip(places, mount, strict=True)])
    specific = specific @ (np.eye(3) + rng.normal(0, 0.002, (3, 3))).T + rng.normal(0, 0.15, 3)
    gyro = np.column_stack([0 * q, 0 * q, (1 + rng.normal(0, 0.01)) * rate]) @ mount.T
    gyro += rng.normal(0, np.radians(0.3), 3) + rng.normal(0, np.radians(0.05), gyro.shape)
    return time_s, gyro, specific + rng.normal(0, 0.01, specific.shape), q


@pytest.mark.parametrize(("apart_m", "limit_deg"), [(0.0, 0.08), (0.0005, 0.10), (0.001, 0.16)])
def test_steep_hinge_and_what_the_chip_is_worth(apart_m, limit_deg):
    errors, inside = [], []
    for seed in range(12):
        time_s, gyro, specific, q = steep_arm(seed, apart_m)
        motion = estimate_hinge(time_s, gyro, specific)
        error = motion.q_rad - q
        errors.append(np.degrees(np.sqrt(np.mean(error**2))))
        inside.append(np.mean(np.abs(error) < 1.96 * motion.u_q_rad))
    assert np.mean(errors) < limit_deg
    assert np.mean(inside) > 0.9


def test_a_gyro_cut_off_below_any_sensors_range_is_told_from_its_flat_tops():
    time_s, gyro, specific, q = steep_arm(3, 0.0)
    motion = estimate_hinge(time_s, np.clip(gyro, -1.3, 1.3), specific)
    kinds = {(fact.kind, fact.figures.get("sensor")) for fact in motion.warnings}
    assert (HingeFact.AT_LIMIT, "gyroscope") in kinds
    assert (HingeFact.SENSOR_MOVED, None) not in kinds
    assert not np.all(motion.valid)
    error = (motion.q_rad - q)[motion.valid]
    assert np.sqrt(np.mean(error**2)) < 1.5 * np.sqrt(np.mean(motion.u_q_rad[motion.valid] ** 2))
    whole = estimate_hinge(time_s, gyro, specific)
    assert np.all(whole.valid)
