"""A sensor on a wheel that rolls along: its axle's own acceleration is no turn, and many turns stay counted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.emulator import scenario, simulate
from feltload.signal.clock.joining import join_clock
from feltload.signal.hinge.estimator import HingeMotion, estimate_hinge

RADIUS_M = 0.055
GYRO, ACCEL = (
    [f"{kind}_{axis}_{unit}" for axis in "xyz"] for kind, unit in (("gyro", "rad_s"), ("accel", "m_s2"))
)


def rolled(name: str, rolling_m: float, seed: int = 0) -> tuple[HingeMotion, np.ndarray]:
    """The motion of an emulated wheel as estimated, and its error."""
    case = scenario(name)
    wide = replace(case.sensors.inertial, gyro_range_rad_s=np.radians(2000.0))
    run = simulate(replace(case, sensors=replace(case.sensors, inertial=wide)), seed=seed)
    stream, truth = run.inertial, run.truth
    times = join_clock(stream["host_s"], stream["device_s"], stream["seq"]).time_s
    motion = estimate_hinge(times, stream[GYRO].to_numpy(), stream[ACCEL].to_numpy(), rolling_m=rolling_m)
    true_q = np.interp(motion.time_s - run.inertial_delay_s, truth["t_s"], truth["q_rad"])
    return motion, motion.q_rad - true_q


def test_a_rolling_wheel_is_known_to_hundredths_of_a_degree() -> None:
    motion, error = rolled("sled-wheel", RADIUS_M)
    assert np.degrees(np.sqrt(np.mean(error**2))) < 0.03
    assert np.mean(np.abs(error) < 1.96 * motion.u_q_rad) > 0.9
    # The axle goes up the rails, which are inclined by 45 degrees, one radius per radian.
    assert motion.parameters.axle_travel_m_rad[0] == pytest.approx(RADIUS_M * np.sin(np.pi / 4.0), abs=3e-4)
    assert np.hypot(*motion.parameters.axle_travel_m_rad) == pytest.approx(RADIUS_M, abs=4e-4)
    # Without it the same record is wrong by far more than it says.
    without, off = rolled("sled-wheel", 0.0)
    assert np.degrees(np.sqrt(np.mean(off**2))) > 0.2
    assert np.all(without.parameters.axle_travel_m_rad == 0.0)


def test_a_pulley_that_only_could_roll_is_seen_to_stay() -> None:
    motion, error = rolled("rope-pulley", 0.10)
    assert np.degrees(np.sqrt(np.mean(error**2))) < 0.03
    assert np.hypot(*motion.parameters.axle_travel_m_rad) < 1e-3


def test_many_turns_of_a_rolling_wheel_are_counted() -> None:
    """Six turns out and back, four times, on an ideal sensor 20 mm from the axle; rails inclined by 30 degrees."""
    rate_hz = 100.0
    time_s = np.arange(0.0, 66.0, 1.0 / rate_hz)
    phase = np.clip(time_s - 1.0, 0.0, 64.0) * 2.0 * np.pi / 16.0
    most = 6.0 * 2.0 * np.pi
    q = 0.5 * most * (1.0 - np.cos(phase))
    moving = (time_s > 1.0) & (time_s < 65.0)
    rate = np.where(moving, 0.5 * most * np.sin(phase), 0.0) * 2.0 * np.pi / 16.0
    slope = np.where(moving, 0.5 * most * np.cos(phase), 0.0) * (2.0 * np.pi / 16.0) ** 2
    axle = 0.05 * slope[:, None] * np.array([-np.cos(np.pi / 6.0), np.sin(np.pi / 6.0)])
    world = axle + np.array([0.0, 9.80665])
    along = np.column_stack([np.cos(q), np.sin(q)])
    beside = np.column_stack([-np.sin(q), np.cos(q)])
    rng = np.random.default_rng(3)
    accel = np.column_stack(
        [
            np.sum(world * along, axis=1) - 0.02 * rate**2,
            np.sum(world * beside, axis=1) + 0.02 * slope,
            np.zeros(time_s.size),
        ]
    ) + rng.normal(0.0, 0.02, (time_s.size, 3))
    gyro = np.column_stack([0.0 * q, 0.0 * q, 0.995 * rate + 0.01]) + rng.normal(0.0, 1e-3, (time_s.size, 3))
    motion = estimate_hinge(time_s, gyro, accel, rolling_m=0.05)
    error = motion.q_rad - np.interp(motion.time_s, time_s, q)
    assert np.degrees(np.abs(error).max()) < 0.3
    assert np.mean(np.abs(error) < 1.96 * motion.u_q_rad) > 0.9
    assert motion.parameters.gyro_scale == pytest.approx(1.0 / 0.995 - 1.0, abs=1e-4)
