"""A whole emulated session at once, with nothing waited for: streams as a host has them, and the truth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.random import Generator

from feltload.core import Floats
from feltload.emulator.machines.straight import RollingPart
from feltload.emulator.motion import TrueMotion, true_motion
from feltload.emulator.scenarios import Scenario
from feltload.emulator.sensors.device_clock import DeviceSamples, arrivals, draw_clock, sample_instants
from feltload.emulator.sensors.inertial import (
    arm_frame_signals,
    draw_inertial_errors,
    draw_mounting,
    inertial_words,
)
from feltload.emulator.sensors.load_cell import draw_force_errors, force_counts
from feltload.emulator.sensors.sensor_class import InertialSensorClass

_INERTIAL_COLUMNS = (
    "gyro_x_rad_s",
    "gyro_y_rad_s",
    "gyro_z_rad_s",
    "accel_x_m_s2",
    "accel_y_m_s2",
    "accel_z_m_s2",
)


@dataclass(frozen=True)
class SimulatedRun:
    """One emulated session.

    Attributes
    ----------
    scenario : Scenario
    seed : int
    force, inertial : DataFrame
        Streams as a recording gives them: `host_s, device_s, seq` and the values, SI. `force_n` is not
        tared. Host time is true time plus the way to the host.
    truth : DataFrame
        True motion and force on the host's clock; see `motion.TrueMotion`.
    force_delay_s, inertial_delay_s : float
        From the true instant to the host time that the fastest message gives it: filter (group delay at
        zero frequency), latency of the device, least time of transport.
    errors : mapping
        Every drawn error by name.
    stated : mapping
        What the user would state, as (value, standard uncertainty): `start_angle_rad`, `load_kg`,
        `force_gain` (always 1).
    knocks_s : tuple of float
        True instants of deliberate knocks on the handle.
    force_samples, inertial_samples : DeviceSamples
        What the devices sent.
    """

    scenario: Scenario
    seed: int
    force: pd.DataFrame
    inertial: pd.DataFrame
    truth: pd.DataFrame
    force_delay_s: float
    inertial_delay_s: float
    errors: Mapping[str, float]
    stated: Mapping[str, tuple[float, float]]
    knocks_s: tuple[float, ...]
    force_samples: DeviceSamples
    inertial_samples: DeviceSamples

    @property
    def true_lag_s(self) -> float:
        """Delay of the force behind the inertial sensor on the host's time line, s."""
        return self.force_delay_s - self.inertial_delay_s

    @property
    def start_angle_rad(self) -> float:
        """True elevation of the handle line on the start stop."""
        return self.scenario.machine.start_angle_rad

    @property
    def load_kg(self) -> float:
        """True load."""
        return self.scenario.load_kg


def simulate(scenario: Scenario, *, seed: int) -> SimulatedRun:
    """Draw one session of a scenario.

    Parameters
    ----------
    scenario : Scenario
    seed : int
        The same seed gives the same session.
    """
    rng = np.random.default_rng(seed)
    kind = scenario.sensors
    grid_hz = max(2000.0, 4.0 * kind.force.rate_hz)
    motion = true_motion(scenario, grid_hz, rng)
    force_samples, force_delay, force_errors = _force_stream(scenario, motion, rng)
    inertial_samples, inertial_delay, inertial_errors = _inertial_stream(scenario, motion, rng)
    errors = {**force_errors, **inertial_errors}
    errors["start_angle_rad"] = float(rng.normal(0.0, scenario.u_start_angle_rad)) * scenario.systematic
    errors["load_share"] = float(rng.normal(0.0, scenario.u_load_share)) * scenario.systematic
    stated = {
        "start_angle_rad": (
            scenario.machine.start_angle_rad + errors["start_angle_rad"],
            scenario.u_start_angle_rad * scenario.systematic,
        ),
        "load_kg": (
            scenario.load_kg * (1.0 + errors["load_share"]),
            scenario.load_kg * scenario.u_load_share * scenario.systematic,
        ),
        "force_gain": (1.0, kind.force.gain_sd * scenario.systematic),
    }
    return SimulatedRun(
        scenario=scenario,
        seed=seed,
        force=_frame(force_samples, ("force_n",), np.array([kind.force.count_n])),
        inertial=_frame(inertial_samples, _INERTIAL_COLUMNS, _inertial_units(kind.inertial)),
        truth=motion.table,
        force_delay_s=force_delay,
        inertial_delay_s=inertial_delay,
        errors=errors,
        stated=stated,
        knocks_s=motion.knocks_s,
        force_samples=force_samples,
        inertial_samples=inertial_samples,
    )


def _force_stream(
    scene: Scenario, motion: TrueMotion, rng: Generator
) -> tuple[DeviceSamples, float, dict[str, float]]:
    kind = scene.sensors.force
    errors = draw_force_errors(kind, scene.systematic, rng)
    clock = draw_clock(scene.sensors.clock_skew_sd, rng)
    errors["force_clock_skew"] = clock.skew
    grid = motion.table["t_s"].to_numpy()
    # The cell lies in the line of the hands: out of the line of pull it reads more.
    pull = motion.table["handle_force_n"].to_numpy() / np.cos(motion.wobble_rad)
    instants = sample_instants(kind.rate_hz, float(grid[-1]), rng)
    counts, delay = force_counts(kind, errors, grid, pull, instants, rng)
    host, kept = arrivals(instants, kind.transport, rng)
    samples = DeviceSamples(instants, clock.read_us(instants), counts, host, kept)
    return samples, delay + kind.transport.floor_s, errors


def _inertial_stream(
    scene: Scenario, motion: TrueMotion, rng: Generator
) -> tuple[DeviceSamples, float, dict[str, float]]:
    kind = scene.sensors.inertial
    errors = draw_inertial_errors(kind, rng)
    clock = draw_clock(scene.sensors.clock_skew_sd, rng)
    errors["inertial_clock_skew"] = clock.skew
    errors["inertial_rate"] = float(rng.normal(0.0, kind.rate_error_sd))
    rolling = scene.machine if isinstance(scene.machine, RollingPart) else None
    mounting = draw_mounting(rng, None if rolling is None else rolling.rim_m)
    errors["mount_along_m"], errors["mount_beside_m"] = mounting.offset_m
    table = motion.table
    rate, specific = arm_frame_signals(
        table["q_rad"].to_numpy(),
        table["rate_rad_s"].to_numpy(),
        table["accel_rad_s2"].to_numpy(),
        start_angle_rad=scene.machine.start_angle_rad,
        hinge_inclination_rad=scene.machine.hinge_inclination_rad,
        offset_m=mounting.offset_m,
        g_m_s2=scene.gravity_m_s2,
        axle_m_rad=(0.0, 0.0) if rolling is None else rolling.axle_m_rad,
    )
    # Play of the bearing: a slow turn about the other two axes, following the position of the arm.
    play = np.radians(scene.sensors.arm_play_deg) * rng.normal(size=2)
    for axis in range(2):
        rate[:, axis] = play[axis] * np.cos(3.0 * table["q_rad"].to_numpy()) * 3.0 * rate[:, 2]
    grid = table["t_s"].to_numpy()
    instants = sample_instants(kind.rate_hz * (1.0 + errors["inertial_rate"]), float(grid[-1]), rng)
    words, delay = inertial_words(kind, errors, mounting, grid, rate, specific, instants, rng)
    host, kept = arrivals(instants, kind.transport, rng)
    samples = DeviceSamples(instants, clock.read_us(instants), words, host, kept)
    return samples, delay + kind.transport.floor_s, errors


def _inertial_units(kind: InertialSensorClass) -> Floats:
    return np.repeat([kind.gyro_range_rad_s, kind.accel_range_m_s2], 3) / 32768.0


def _frame(samples: DeviceSamples, columns: tuple[str, ...], units: Floats) -> pd.DataFrame:
    """The stream as a host has it: SI values of the samples that arrived."""
    frame = pd.DataFrame(
        {
            "host_s": samples.arrival_s,
            "device_s": samples.device_us / 1e6,
            "seq": np.arange(samples.sample_s.size),
        }
    )
    values = samples.words.reshape(samples.sample_s.size, -1) * units
    for column, series in zip(columns, values.T, strict=True):
        frame[column] = series
    return frame[samples.kept].reset_index(drop=True)
