"""Sessions for the estimator from emulated runs, with what a user would state about them."""

from __future__ import annotations

import dataclasses

import numpy as np

from feltload.emulator import SimulatedRun
from feltload.emulator.machines.dynamics import Lever
from feltload.signal import ForceUncertainty, HandleTravel, Reference, Session

MACHINES = (
    "lever-row",
    "rising-arm",
    "over-the-top",
    "fixed-pull",
    "inclined-lever",
    "four-bar",
    "cam-drum",
    "sticky-lever",
)
"""Every kind of machine that the studies go over."""

TARE_S = 2.0
PULL_U_DEG = 2.0


def session_of(run: SimulatedRun, name: str, *, knocks: bool = True) -> Session:
    """The run as a session: tared over its first two seconds (hands off), calibration as stated."""
    force = run.force
    rest = force["force_n"].to_numpy()[force["host_s"].to_numpy() < TARE_S]
    gain_u = run.stated["force_gain"][1]
    load, load_u = run.stated["load_kg"]
    return Session(
        name=name,
        force=force.assign(force_n=force["force_n"] - rest.mean()),
        inertial=run.inertial,
        load_kg=load,
        load_u_kg=load_u or None,
        knocks_host_s=run.knocks_s if knocks else (),
        tare_window_s=(0.0, TARE_S),
        force_uncertainty=ForceUncertainty(
            gain=gain_u,
            zero_n=float(rest.std() / np.sqrt(rest.size)),
            gain_stated=True,
            zero_stated=True,
        ),
        force_rate_hz=run.scenario.sensors.force.rate_hz,
        inertial_rate_hz=run.scenario.sensors.inertial.rate_hz,
    )


def reference_of(run: SimulatedRun) -> Reference:
    """Start angle as stated, with its uncertainty, and the handle's travel as a machine file states it."""
    angle, u = run.stated["start_angle_rad"]
    return Reference(run.scenario.name, angle, u, handle_travel=stated_travel(run))


def stated_travel(run: SimulatedRun) -> HandleTravel:
    """The handle's travel from the survey: a fixed line of pull is known to 2 degrees (drawn with the run's seed)."""
    machine = run.scenario.machine
    if isinstance(machine, Lever) and machine.pull_direction_rad is not None:
        off = np.radians(PULL_U_DEG) * np.random.default_rng([run.seed, 86]).normal()
        machine = dataclasses.replace(machine, pull_direction_rad=machine.pull_direction_rad + off)
    q = np.linspace(0.0, machine.travel_rad, 61)
    return HandleTravel(q, machine.handle_travel_m(q))


def same_cell(run: SimulatedRun, first: SimulatedRun) -> SimulatedRun:
    """The run with the force gain of the first: both recordings were made with one cell."""
    ratio = (1.0 + first.errors["force_gain"]) / (1.0 + run.errors["force_gain"])
    return dataclasses.replace(run, force=run.force.assign(force_n=run.force["force_n"] * ratio))
