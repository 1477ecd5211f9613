"""Emulated rigs as a coach meets them: profiled without help, then a session on the same rig."""

from __future__ import annotations

import numpy as np

from feltload.coaching import PersonMotion, person_motion
from feltload.emulator import Partner, Person, SimulatedRun, scenario, simulate
from feltload.signal import ProfileEstimate
from feltload.signal.force_uncertainty import ForceUncertainty
from feltload.signal.pipeline import estimate
from feltload.signal.session import Reference, Session


def session_of(run: SimulatedRun, name: str = "session") -> Session:
    """The run as a session: tared over its first two seconds, load and gain as stated."""
    force = run.force["force_n"].to_numpy()
    rest = force[run.force["host_s"].to_numpy() < 2.0]
    return Session(
        name=name,
        force=run.force.assign(force_n=force - rest.mean()),
        inertial=run.inertial,
        load_kg=run.stated["load_kg"][0],
        load_u_kg=run.stated["load_kg"][1] or None,
        force_uncertainty=ForceUncertainty(
            gain=run.stated["force_gain"][1],
            zero_n=float(rest.std() / np.sqrt(rest.size)),
            gain_stated=True,
            zero_stated=True,
        ),
    )


def profiled(
    machine: str, sensors: str, seed: int, loads_kg: tuple[float, ...] = (20.0, 40.0)
) -> tuple[ProfileEstimate, Reference]:
    """Profile of an emulated machine from sessions without help."""
    runs = [
        simulate(scenario(machine, sensors=sensors, load_kg=load), seed=1000 * seed + number)
        for number, load in enumerate(loads_kg)
    ]
    reference = Reference(machine, runs[0].start_angle_rad, 0.0)
    return estimate([session_of(r, f"{k}") for k, r in enumerate(runs)], reference=reference), reference


def session_on(
    profile: ProfileEstimate,
    reference: Reference,
    sensors: str,
    seed: int,
    *,
    load_kg: float = 40.0,
    partner: Partner | None = None,
    person: Person | None = None,
) -> tuple[PersonMotion, SimulatedRun]:
    """Another session on the rig, other dice."""
    run = simulate(
        scenario(reference.machine_name, sensors=sensors, load_kg=load_kg, partner=partner, person=person),
        seed=1000 * seed + 7,
    )
    return person_motion(session_of(run), reference, profile.lag), run


def true_help(run: SimulatedRun, grid_rad: np.ndarray, *, raising: bool) -> np.ndarray:
    """What the partner really gave about each grid angle while moving, NaN where nobody moved."""
    rate = run.truth["rate_rad_s"].to_numpy()
    going = rate > 0.05 if raising else rate < -0.05
    angle = (run.truth["q_rad"].to_numpy() + run.start_angle_rad)[going]
    given = run.truth["partner_force_n"].to_numpy()[going]
    step = grid_rad[1] - grid_rad[0]
    place = np.round((angle - grid_rad[0]) / step).astype(int)
    inside = (place >= 0) & (place < grid_rad.size)
    count = np.bincount(place[inside], minlength=grid_rad.size)
    total = np.bincount(place[inside], weights=given[inside], minlength=grid_rad.size)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)
