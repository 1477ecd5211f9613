"""Hinges near to vertical, sensors that wander, and a real sensor on a motor's shaft with an encoder."""

import numpy as np
import pytest

from feltload.core import Severity
from feltload.emulator.sensors.leaning import leaning
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.hinge.smoother.places import ends_of_travel
from published_data import published_rows


@pytest.mark.parametrize(("tilt_deg", "limit_deg"), [(0.0, 0.1), (75.0, 0.4), (85.0, 0.8), (90.0, 1.2)])
def test_the_band_holds_while_the_accelerometers_offset_walks(tilt_deg, limit_deg):
    inside, errors = [], []
    for seed in range(4):
        time_s, gyro, accel, q = leaning(seed, tilt_deg, rate_hz=50.0)
        motion = estimate_hinge(time_s, gyro, accel)
        error = motion.q_rad - np.interp(motion.time_s, time_s, q)
        inside.append(np.mean(np.abs(error) < 1.96 * motion.u_q_rad))
        errors.append(np.degrees(np.sqrt(np.mean(error**2))))
        assert np.degrees(np.median(motion.u_q_rad)) < 2.0 * limit_deg
    # Four sessions: what is common to a session, its scale above all, is drawn four times only.
    assert np.mean(inside) > 0.85
    assert np.sqrt(np.mean(np.square(errors))) < limit_deg


def test_a_vertical_hinge_leaves_gravity_out_and_says_what_holds_the_angle():
    motion = estimate_hinge(*leaning(1, 90.0)[:3])
    (said,) = [fact for fact in motion.warnings if fact.kind == HingeFact.GRAVITY_LEFT_OUT]
    assert said.figures["held_by"] == "stop" and said.severity == Severity.NOTE
    assert said.figure("gravity_m_s2") < 0.2
    # Nothing tells the scale, so it is neither changed nor better known than before.
    assert motion.parameters.gyro_scale == pytest.approx(0.0, abs=5e-3)
    assert motion.parameters.u_gyro_scale == pytest.approx(0.02, rel=0.02)
    assert motion.parameters.inclination_rad == pytest.approx(np.pi / 2.0, abs=0.02)
    level = estimate_hinge(*leaning(1, 60.0)[:3])
    assert not [fact for fact in level.warnings if fact.kind == HingeFact.GRAVITY_LEFT_OUT]


def test_without_a_rest_the_ends_of_the_travel_hold_a_vertical_hinge():
    time_s, gyro, accel, q = leaning(3, 90.0, rests=False)
    motion = estimate_hinge(time_s, gyro, accel)
    (said,) = [fact for fact in motion.warnings if fact.kind == HingeFact.GRAVITY_LEFT_OUT]
    assert said.figures["held_by"] == "ends" and said.severity == Severity.CAUTION
    error = motion.q_rad - np.interp(motion.time_s, time_s, q)
    assert np.mean(np.abs(error) < 1.96 * motion.u_q_rad) > 0.9
    # The gyroscope's bias alone would have turned it by half a turn or more.
    assert np.degrees(np.sqrt(np.mean(error**2))) < 4.0


def test_turning_points_are_the_ends_and_small_ripples_are_not():
    t = np.arange(0.0, 40.0, 0.01)
    theta = 0.6 * (1.0 - np.cos(2.0 * np.pi * t / 5.0)) + 0.03 * np.sin(2.0 * np.pi * t)
    places = ends_of_travel(t, theta, theta)
    assert set(places.level) == {1, 2} and np.all(np.diff(places.level) != 0)
    high_s, low_s = (places.time_s[places.level == which] for which in (2, 1))
    # The first one, with which a record may begin anywhere, and the last, which may not be over, are left out.
    assert high_s == pytest.approx(np.arange(7.5, 40.0, 5.0), abs=0.3)
    assert low_s == pytest.approx(np.arange(5.0, 40.0, 5.0), abs=0.3)
    assert ends_of_travel(t[:900], theta[:900], theta[:900]) is None


def recorded(rows):
    """Times, gyro, accelerometer and encoder of a stretch of the public recording, in SI units."""
    table = {key: np.array([row[key] for row in rows]) for key in rows[0]}
    keep = np.concatenate([[True], np.diff(table["time_ms"]) > 0.0])
    gyro, accel = (
        np.stack([table[f"{kind}_{axis}"] for axis in "xyz"], axis=1)[keep] for kind in ("gyro", "accel")
    )
    return (
        table["time_ms"][keep] / 1000.0,
        np.radians(gyro / 100.0),
        accel / 100.0 * 9.80665,
        np.radians(table["encoder"][keep] / 100.0),
    )


@pytest.mark.parametrize(
    ("rows", "limit_deg"),
    [(published_rows("song_2022_yaw"), 0.5), (published_rows("song_2022_pitch"), 0.35)],
    ids=["vertical", "horizontal"],
)
def test_a_real_sensor_on_a_motors_shaft_follows_its_encoder(rows, limit_deg):
    # Sensor and encoder are read by clocks of their own, a sample of 10 ms apart at most: 0.5 degrees at 50 deg/s.
    time_s, gyro, accel, encoder = recorded(rows)
    motion = estimate_hinge(time_s, gyro, accel)
    true = np.interp(motion.time_s, time_s, encoder)
    errors = []
    for sign in (1.0, -1.0):
        moving = np.column_stack([motion.rate_rad_s, np.ones(len(true))])
        error = motion.q_rad - sign * true
        errors.append(error - moving @ np.linalg.lstsq(moving, error, rcond=None)[0])
    error = min(errors, key=np.var)
    assert np.degrees(np.sqrt(np.mean(error**2))) < limit_deg
    u = np.hypot(motion.u_q_rad, 0.005 * np.abs(motion.rate_rad_s))
    assert np.mean(np.abs(error) < 1.96 * u) > 0.93
