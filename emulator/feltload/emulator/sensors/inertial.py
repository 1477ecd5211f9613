"""An emulated inertial sensor on the arm: from true motion to the words that it sends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from feltload.core import Floats, Indices
from feltload.emulator.sensors.low_pass import CausalLowPass
from feltload.emulator.sensors.sensor_class import InertialSensorClass


@dataclass(frozen=True)
class Mounting:
    """How an inertial sensor sits on the arm: drawn once per session.

    `turn` (3, 3) takes arm axes (along the arm, square to it in the plane, along the hinge) to sensor axes;
    `offset_m` is where it sits on the arm, from the pivot.
    """

    turn: Floats
    offset_m: tuple[float, float]


def draw_inertial_errors(kind: InertialSensorClass, rng: Generator) -> dict[str, float]:
    """True errors of one inertial sensor, per axis where they have one."""
    errors = {"gyro_scale": float(rng.normal(0.0, kind.gyro_scale_sd))}
    for axis in "xyz":
        errors[f"gyro_bias_{axis}_rad_s"] = float(rng.normal(0.0, kind.gyro_bias_sd_rad_s))
        errors[f"accel_offset_{axis}_m_s2"] = float(rng.normal(0.0, kind.accel_offset_sd_m_s2))
        errors[f"accel_scale_{axis}"] = float(rng.normal(0.0, kind.accel_scale_sd))
    return errors


def draw_mounting(rng: Generator, rim_m: float | None = None) -> Mounting:
    """Any attitude, up to 0.4 m from the pivot and a few centimetres beside the arm's line; within a rim."""
    quarter = rng.normal(size=4)
    w, x, y, z = quarter / np.linalg.norm(quarter)
    turn = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    along, beside = float(rng.uniform(0.1, 0.4)), float(rng.uniform(-0.04, 0.04))
    if rim_m is not None:
        along, beside = 2.0 * rim_m * along, 5.0 * rim_m * beside
    return Mounting(turn, (along, beside))


def arm_frame_signals(
    q_rad: Floats,
    rate_rad_s: Floats,
    accel_rad_s2: Floats,
    *,
    start_angle_rad: float,
    hinge_inclination_rad: float,
    offset_m: tuple[float, float],
    g_m_s2: float,
    axle_m_rad: tuple[float, float] = (0.0, 0.0),
) -> tuple[Floats, Floats]:
    """Rate and specific force at a point of the arm in arm axes, each (n, 3).

    `axle_m_rad` is the travel per radian of an axle that rolls along, to the right and up.
    """
    along, beside = offset_m
    angle = start_angle_rad + q_rad
    in_plane, out_of_plane = g_m_s2 * np.cos(hinge_inclination_rad), g_m_s2 * np.sin(hinge_inclination_rad)
    rate = np.zeros((q_rad.size, 3))
    rate[:, 2] = rate_rad_s
    force = np.empty((q_rad.size, 3))
    force[:, 0] = in_plane * np.sin(angle) - along * rate_rad_s**2 - beside * accel_rad_s2
    force[:, 1] = in_plane * np.cos(angle) - beside * rate_rad_s**2 + along * accel_rad_s2
    force[:, 2] = out_of_plane
    right, up = (per_rad * accel_rad_s2 for per_rad in axle_m_rad)
    force[:, 0] += right * np.cos(angle) + up * np.sin(angle)
    force[:, 1] += up * np.cos(angle) - right * np.sin(angle)
    return rate, force


def inertial_words(
    kind: InertialSensorClass,
    errors: dict[str, float],
    mounting: Mounting,
    grid_s: Floats,
    rate_arm: Floats,
    force_arm: Floats,
    sample_s: Floats,
    rng: Generator,
) -> tuple[Indices, float]:
    """Signed 16-bit words (n, 6), gyroscope then accelerometer, and the delay of filter and latency, s."""
    low_pass = CausalLowPass(kind.low_pass_hz, 1.0 / (grid_s[1] - grid_s[0]))
    filtered = low_pass(np.concatenate([rate_arm, force_arm], axis=1))
    when = sample_s - kind.latency_s
    seen = np.stack([np.interp(when, grid_s, column) for column in filtered.T], axis=1)
    gyro, accel = seen[:, :3] @ mounting.turn.T, seen[:, 3:] @ mounting.turn.T
    bias = np.array([errors[f"gyro_bias_{axis}_rad_s"] for axis in "xyz"])
    offset = np.array([errors[f"accel_offset_{axis}_m_s2"] for axis in "xyz"])
    scale = np.array([errors[f"accel_scale_{axis}"] for axis in "xyz"])
    step = np.sqrt(np.diff(sample_s, prepend=sample_s[0]))[:, None]
    walk = np.cumsum(rng.normal(size=gyro.shape) * kind.gyro_walk_rad_s_rt_s * step, axis=0)
    spread = np.sqrt(kind.rate_hz / 2.0)
    gyro = (1.0 + errors["gyro_scale"]) * gyro + bias + walk
    gyro = gyro + rng.normal(0.0, kind.gyro_noise_rad_s_rt_hz * spread, gyro.shape)
    accel = (1.0 + scale) * accel + offset
    accel = accel + rng.normal(0.0, kind.accel_noise_m_s2_rt_hz * spread, accel.shape)
    units = np.repeat([kind.gyro_range_rad_s, kind.accel_range_m_s2], 3) / 32768.0
    words = np.rint(np.concatenate([gyro, accel], axis=1) / units)
    return np.clip(words, -32768, 32767).astype(np.int64), low_pass.delay_s + kind.latency_s
