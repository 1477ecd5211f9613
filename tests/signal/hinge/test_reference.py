"""From which rest the angle counts, which way is positive, and the acceleration of an arm that moves as written."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.hinge.estimator import HingeMotion, estimate_hinge
from feltload.signal.hinge.facts import HingeFact
from ramped_arm import BIAS, MOUNT_M, record


def found(made, **given) -> HingeMotion:
    return estimate_hinge(*made[:3], **given)


LIFTS = [(3.0, 60.0), (5.0, 10.0), (7.0, 20.0), (12.0, 70.0), (14.0, 0.0), (16.0, 60.0), (18.0, 0.0)]


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_angle_counts_from_the_first_rest_and_the_first_movement_is_positive(way):
    made = record(LIFTS, way=way)
    motion = found(made)
    assert motion.q_rad == pytest.approx(way * made[3], abs=np.radians(0.15))
    assert motion.reference_s == pytest.approx((0.0, 2.9), abs=0.2)
    assert not motion.warnings
    parameters = motion.parameters
    assert parameters.axis == pytest.approx([0.0, 0.0, way], abs=0.01)
    assert parameters.gyro_bias_rad_s == pytest.approx(way * BIAS, abs=5e-4)
    # Gravity as the sensor sees it where the arm rests: 0.4 rad from its first axis.
    assert parameters.up_at_start == pytest.approx([np.cos(0.4), -np.sin(0.4), 0.0], abs=0.01)
    assert parameters.gravity_in_plane_m_s2 == pytest.approx(9.81, abs=0.03)
    # The mount, from axes along the arm's upward direction and a quarter turn on.
    up = np.array([np.cos(0.4), -np.sin(0.4)])
    beside = way * np.array([-up[1], up[0]])
    assert parameters.mount_radius_m == pytest.approx([MOUNT_M @ up, MOUNT_M @ beside], abs=0.02)


def test_a_rest_that_is_asked_for_is_the_one_that_counts():
    """Between 8.5 and 11.5 s the arm rests at 20 degrees."""
    made = record(LIFTS)
    motion = found(made, reference_s=(8.5, 11.5))
    assert motion.reference_s == (8.5, 11.5)
    assert motion.q_rad == pytest.approx(made[3] - np.radians(20.0), abs=np.radians(0.2))
    inside = (motion.time_s >= 8.5) & (motion.time_s <= 11.5)
    assert np.mean(motion.q_rad[inside]) == pytest.approx(0.0, abs=1e-12)
    # After its last rest the arm never moves again; where nothing was recorded there is none to ask for.
    assert found(made, reference_s=(20.0, 60.0)).reference_s == (20.0, 60.0)
    assert found(made, reference_s=(100.0, 101.0)).reference_s == pytest.approx((0.0, 2.9), abs=0.2)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_without_a_rest_before_it_moves_the_angle_counts_from_the_end_it_starts_at(way):
    """Lifted at once from 0 to 60 degrees, where it rests first."""
    made = record([(0.0, 60.0), (4.0, 0.0), (5.0, 60.0), (9.0, 0.0), (11.0, 60.0)], way=way, seconds=16.0)
    motion = found(made)
    assert motion.reference_s is None
    assert [fact.kind for fact in motion.warnings] == [HingeFact.NO_REST_BEFORE]
    assert motion.q_rad == pytest.approx(way * made[3], abs=np.radians(1.0))


def test_acceleration_is_that_of_each_stretch():
    """A gap of 0.08 s while the arm speeds up: what lies beyond it has no part in the slope before it."""
    made = record(LIFTS, cut=[(3.30, 3.38)])
    motion = found(made)
    assert np.max(np.diff(motion.time_s)) == pytest.approx(0.09, abs=0.011)
    assert motion.accel_rad_s2 == pytest.approx(made[4], abs=0.5)
    assert np.sqrt(np.mean((motion.accel_rad_s2 - made[4]) ** 2)) < 0.08
