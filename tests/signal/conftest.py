"""Emulated sessions with the true motion, so that the estimator is tested apart from clock and hinge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from feltload.emulator import Person, SimulatedRun, scenario, simulate
from feltload.signal.alignment.lag import Lag, LagReading
from feltload.signal.alignment.solved import Solved
from feltload.signal.alignment.solver import solve
from feltload.signal.force_uncertainty import ForceUncertainty
from feltload.signal.movement.grid import Aligned, Rotation, align
from feltload.signal.movement.travel import HandleTravel
from feltload.signal.profile.assembly import assemble
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.session import Reference, Session


@dataclass(frozen=True)
class Measured:
    """An estimate and what is true."""

    estimate: ProfileEstimate
    solved: Solved
    lags: list[Lag]
    runs: list[SimulatedRun]
    sessions: list[Session]

    def static_error(self, load_index: int = 0) -> float:
        """Root mean square error of the static force as a part of its peak."""
        run = self.runs[0]
        truth = run.scenario.static_force_n(
            self.estimate.angle_rad - run.start_angle_rad, float(self.estimate.loads_kg[load_index])
        )
        error = self.estimate.static_n[load_index] - truth
        return float(np.sqrt(np.mean(error**2)) / np.max(np.abs(truth)))


def true_motion(run: SimulatedRun, *, u_q_rad: float = 1e-4) -> Rotation:
    """True rotation at the inertial sensor's rate, on the host's timeline as that sensor has it."""
    truth = run.truth
    fine = truth["t_s"].to_numpy()
    time = np.arange(0.0, fine[-1], 1.0 / run.scenario.sensors.inertial.rate_hz)
    q, rate, accel = (
        np.interp(time, fine, truth[name].to_numpy()) for name in ("q_rad", "rate_rad_s", "accel_rad_s2")
    )
    return Rotation(
        time + run.inertial_delay_s,
        q,
        rate,
        accel,
        np.full(time.size, u_q_rad),
        np.zeros(time.size),
        0.0,
        u_q_rad,
    )


def aligned_run(run: SimulatedRun, name: str, load_kg: float) -> tuple[Aligned, Session]:
    """Run with true clocks and motion, tared over its first two seconds."""
    force = run.force
    rest = force["force_n"].to_numpy()[force["host_s"].to_numpy() < 2.0]
    device = force["device_s"].to_numpy() * (1.0 - run.errors["force_clock_skew"])
    time = device + np.min(force["host_s"].to_numpy() - device)
    pull = force["force_n"].to_numpy() - rest.mean()
    session = Session(
        name=name,
        force=force.assign(force_n=pull),
        inertial=run.inertial,
        load_kg=load_kg,
        load_u_kg=run.stated["load_kg"][1] or None,
        force_uncertainty=ForceUncertainty(
            gain=run.stated["force_gain"][1],
            zero_n=float(rest.std() / np.sqrt(rest.size)),
            gain_stated=True,
            zero_stated=True,
        ),
    )
    return align(name, true_motion(run), time, pull, load_kg=load_kg), session


@pytest.fixture(scope="session")
def measure() -> Callable[..., Measured]:
    """Factory: emulate, estimate, hand back both."""

    def make(
        machine: str,
        *,
        sensors: str = "ordinary",
        tempo: str = "mixed",
        loads: tuple[float, ...] = (40.0,),
        seed: int = 0,
        systematic: bool = False,
        person: Person | None = None,
        readings: tuple[LagReading, ...] = (),
        travel: HandleTravel | None = None,
    ) -> Measured:
        runs = [
            simulate(
                scenario(
                    machine, sensors=sensors, tempo=tempo, load_kg=load, systematic=systematic, person=person
                ),
                seed=100 * seed + k,
            )
            for k, load in enumerate(loads)
        ]
        pairs = [aligned_run(run, f"run {k}", run.stated["load_kg"][0]) for k, run in enumerate(runs)]
        angle, u_angle = runs[0].stated["start_angle_rad"]
        solved, lags = solve([a for a, _ in pairs], [list(readings)] * len(pairs), travel=travel)
        sessions = [s for _, s in pairs]
        estimate = assemble(solved, sessions, lags, Reference(machine, angle, u_angle, 0.6), [])
        return Measured(estimate, solved, lags, runs, sessions)

    return make
