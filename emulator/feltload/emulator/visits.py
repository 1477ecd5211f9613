"""Many sessions of one study: machines of one model, operators, days and remounts, each with errors of its own.

Their sizes are ours: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.random import Generator

from feltload.core import Floats, InputError
from feltload.emulator.machines.dynamics import Lever
from feltload.emulator.people.person import Person, lasting
from feltload.emulator.scenarios import Scenario, scenario
from feltload.emulator.sensors.bench_cell import BenchCell
from feltload.emulator.surveys import machine_toml

MACHINES = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_GRAVITY_M_S2 = 9.8126
"""Where the cell was calibrated."""

OPERATORS: Mapping[str, Person] = MappingProxyType(
    {
        "kim": Person(tempo="mixed"),
        "lee": Person(tempo="brisk", reach=(0.90, 0.96), sway_deg=0.2, wobble_deg=1.5),
        "noor": Person(tempo="slow", reach=(0.95, 0.99)),
    }
)
"""Invented operators, and how each moves a machine."""


@dataclass(frozen=True)
class CampaignErrors:
    """Standard deviations of what differs.

    Parameters
    ----------
    machine_share : float
        Lengths and masses of machines of one model.
    friction_share : float
        Friction, by machine and day.
    gain_share : float
        Gain of the cell, by day.
    grip_m : float
        Where along the lever the cell is mounted, by mounting.
    lean_deg : float
        Angle between cell and line of pull, by mounting.
    """

    machine_share: float = 0.02
    friction_share: float = 0.15
    gain_share: float = 0.001
    grip_m: float = 0.002
    lean_deg: float = 3.0


@dataclass(frozen=True)
class Visit:
    """One measurement of a campaign.

    Attributes
    ----------
    machine, operator : str
    day, remount : int
    scenario : Scenario
    gain_share : float
        What the cell's gain has drifted by that day.
    machine_toml : str
        What a tape measure said of the machine, once for all of its measurements.
    seed : int
        Of the session.
    """

    machine: str
    operator: str
    day: int
    remount: int
    scenario: Scenario
    gain_share: float
    machine_toml: str
    seed: int

    @property
    def name(self) -> str:
        """``A-kim-1-2``."""
        return f"{self.machine}-{self.operator}-{self.day}-{self.remount}"

    def read_static_n(self, q_rad: Floats) -> Floats:
        """Static force as this cell in this mounting reads it, (n,) N: what a perfect estimate would give."""
        lean = np.cos(np.radians(self.scenario.person.lean_deg))
        return np.asarray((1.0 + self.gain_share) * self.scenario.static_force_n(q_rad) / lean)


def campaign(
    *,
    machines: int = 6,
    operators: int = 2,
    days: int = 2,
    remounts: int = 2,
    load_kg: float = 40.0,
    duration_s: float = 30.0,
    errors: CampaignErrors | None = None,
    seed: int = 1,
) -> list[Visit]:
    """The sessions of a study on rowing levers, by machine, operator, day and remount.

    Raises
    ------
    InputError
        More machines or operators than there are, or none.
    """
    if not (0 < machines <= len(MACHINES) and 0 < operators <= len(OPERATORS)):
        raise InputError(f"1 to {len(MACHINES)} machines and 1 to {len(OPERATORS)} operators are possible")
    errors = errors or CampaignErrors()
    rng = np.random.default_rng(seed)
    gains = rng.normal(0.0, errors.gain_share, days)
    built = [_as_built(label, load_kg, errors, rng) for label in MACHINES[:machines]]
    surveys = [machine_toml(scene, rng=rng) for scene in built]
    visits = []
    for machine, operator, day, remount in np.ndindex(machines, operators, days, remounts):
        worn = _on_day(built[machine], errors, np.random.default_rng([seed, machine, day]))
        who = list(OPERATORS)[operator]
        gain_share, number = float(gains[day]), int(rng.integers(1, 2**31))
        scene = _mounted(worn, OPERATORS[who], gain_share, errors, rng)
        person = lasting(scene.person, scene.machine.travel_rad, duration_s, seed=number)
        visits.append(
            Visit(
                machine=MACHINES[machine],
                operator=who,
                day=day + 1,
                remount=remount + 1,
                scenario=replace(scene, person=person),
                gain_share=gain_share,
                machine_toml=surveys[machine],
                seed=number,
            )
        )
    return visits


def _as_built(label: str, load_kg: float, errors: CampaignErrors, rng: Generator) -> Scenario:
    """One machine of the model."""
    model = scenario("lever-row", load_kg=load_kg)
    lever = _lever(model)

    def built(value: float) -> float:
        return value * float(1.0 + rng.normal(0.0, errors.machine_share))

    masses = tuple(
        replace(
            item, radius_m=built(item.radius_m), mass_kg=None if item.mass_kg is None else built(item.mass_kg)
        )
        for item in lever.masses
    )
    machine = replace(lever, masses=masses, handle_radius_m=built(lever.handle_radius_m))
    return replace(model, name=f"row {label}", machine=machine, gravity_m_s2=_GRAVITY_M_S2)


def _on_day(scene: Scenario, errors: CampaignErrors, rng: Generator) -> Scenario:
    lever = _lever(scene)
    coulomb_n = lever.friction.coulomb_n * float(np.exp(rng.normal(0.0, errors.friction_share)))
    return replace(scene, machine=replace(lever, friction=replace(lever.friction, coulomb_n=coulomb_n)))


def _mounted(
    scene: Scenario, habits: Person, gain_share: float, errors: CampaignErrors, rng: Generator
) -> Scenario:
    """The sensors mounted afresh, and who moves the machine."""
    lever = _lever(scene)
    grip_m = float(rng.normal(0.0, errors.grip_m))
    force = BenchCell().on_machine(scene.sensors.force, gain_share=gain_share)
    return replace(
        scene,
        machine=replace(lever, handle_radius_m=lever.handle_radius_m + grip_m),
        person=replace(habits, lean_deg=float(rng.normal(0.0, errors.lean_deg))),
        sensors=replace(scene.sensors, force=force),
    )


def _lever(scene: Scenario) -> Lever:
    assert isinstance(scene.machine, Lever)
    return scene.machine
