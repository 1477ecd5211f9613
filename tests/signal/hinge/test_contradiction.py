"""Inertial data that cannot come from one turning part: said, not turned into an angle."""

import numpy as np
import pytest

from feltload.signal.errors import MotionError
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact


@pytest.fixture
def samples():
    rng = np.random.default_rng(5)
    time_s = np.arange(0, 30, 0.01)
    q = np.where((time_s > 3) & (time_s < 27), 0.6 * (1 - np.cos(2 * np.pi * (time_s - 3) / 4)), 0.0)
    gyro = np.column_stack([0 * q, 0 * q, np.gradient(q, time_s)]) + rng.normal(0, 1e-3, (q.size, 3))
    accel = 9.80665 * np.column_stack([np.sin(q), np.cos(q), 0 * q]) + rng.normal(0, 0.03, (q.size, 3))
    return time_s, gyro, accel


def test_a_gyroscope_turned_round_is_refused(samples):
    time_s, gyro, accel = samples
    with pytest.raises(MotionError, match="signs and units"):
        estimate_hinge(time_s, -gyro, accel)


def test_two_axes_exchanged_are_refused(samples):
    time_s, gyro, accel = samples
    with pytest.raises(MotionError, match="signs and units"):
        estimate_hinge(time_s, gyro, accel[:, [1, 0, 2]])


def test_an_accelerometer_that_reads_nothing_is_reported(samples):
    time_s, gyro, accel = samples
    found = estimate_hinge(time_s, gyro, 0.0 * accel)
    (doubt,) = found.warnings
    assert doubt.kind == HingeFact.NO_GRAVITY
    assert doubt.figure("accel_m_s2") == 0.0
    assert np.ptp(found.q_rad) == pytest.approx(1.2, rel=0.02)
    assert estimate_hinge(time_s, gyro, accel).warnings == ()


def test_a_sensor_that_sticks_for_a_second_leaves_a_gap(samples):
    time_s, gyro, accel = samples
    whole = estimate_hinge(time_s, gyro, accel)
    gyro[1050:1150], accel[1050:1150] = gyro[1050], accel[1050]
    found = estimate_hinge(time_s, gyro, accel)
    (gap,) = [fact for fact in found.warnings if fact.kind == HingeFact.STUCK_READING]
    assert gap.figures["count"] == 99
    assert gap.span_s == pytest.approx((time_s[1051], time_s[1149]))
    assert np.max(np.abs(found.q_rad - np.interp(found.time_s, time_s, whole.q_rad))) < np.radians(0.6)


@pytest.mark.parametrize("seed", range(4))
def test_a_gyroscope_turned_round_is_refused_with_any_mounting(seed):
    # A mounting beside the pivot and an offset leave other wrong fits: a scale error of half the rate, for one.
    rng = np.random.default_rng(seed)
    time_s = np.arange(0, 40, 0.01)
    after = np.maximum(time_s - 2.0, 0.0)
    q = 0.6 * (1 - np.cos(2 * np.pi * after / 4)) * (0.9 + 0.1 * np.cos(0.3 * after))
    rate = np.gradient(q, time_s)
    start, along = rng.uniform(-np.pi, np.pi), np.gradient(rate, time_s)
    gyro = np.column_stack([0 * q, 0 * q, rate]) + rng.normal(0, 0.01, 3)
    accel = 9.81 * np.column_stack([np.cos(start + q), -np.sin(start + q), 0 * q])
    accel += np.column_stack([-0.25 * rate**2, 0.25 * along, 0 * q]) + rng.normal(0, 0.15, 3)
    gyro += rng.normal(0, 1.5e-3, gyro.shape)
    accel += rng.normal(0, 0.02, accel.shape)
    estimate_hinge(time_s, gyro, accel)
    with pytest.raises(MotionError, match="signs and units"):
        estimate_hinge(time_s, -gyro, accel)
