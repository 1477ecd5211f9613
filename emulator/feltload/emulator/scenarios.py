"""Emulated sessions by name: a machine, a person on it and the sensors. All of it is invented."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from feltload.core import STANDARD_GRAVITY_M_S2, Floats
from feltload.emulator.machines.catalogue import machine, machine_names
from feltload.emulator.machines.dynamics import MachineDynamics
from feltload.emulator.machines.joint import Joint
from feltload.emulator.people.capacity import Capacity
from feltload.emulator.people.partner import Partner
from feltload.emulator.people.person import Person, Tempo
from feltload.emulator.sensors.sensor_class import SensorSet, sensor_set


@dataclass(frozen=True)
class Scenario:
    """One emulated session, before the dice are thrown.

    Parameters
    ----------
    name : str
    machine : MachineDynamics
    person : Person
    sensors : SensorSet
    load_kg : float
    partner : Partner or None
    capacity : Capacity
    systematic : bool
        True: force gain, and what is stated of start angle and load, carry errors drawn at their uncertainty.
    u_start_angle_rad, u_load_share : float
        Standard uncertainties of the stated start angle and (relative) load.
    gravity_m_s2 : float
    joint : Joint or None
        Where the machine gives; None for a rigid one.
    """

    name: str
    machine: MachineDynamics
    person: Person
    sensors: SensorSet
    load_kg: float
    partner: Partner | None = None
    capacity: Capacity = field(default_factory=Capacity)
    systematic: bool = False
    u_start_angle_rad: float = 0.3 * np.pi / 180.0
    u_load_share: float = 0.002
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2
    joint: Joint | None = None

    def static_force_n(self, q_rad: Floats, load_kg: float | None = None) -> Floats:
        """True force felt at rest, without friction, (n,) N."""
        load = self.load_kg if load_kg is None else load_kg
        slope = self.machine.potential_slope_n_m(q_rad, load, self.gravity_m_s2)
        return slope / self.machine.handle_travel_m(q_rad)

    def friction_n(self, q_rad: Floats, load_kg: float | None = None) -> Floats:
        """True dry friction while sliding, (n,) N: half the gap between raising and lowering slowly."""
        return self.machine.friction.dry_n(q_rad, self.load_kg if load_kg is None else load_kg)

    def inertia_n_per_rad_s2(self, q_rad: Floats, load_kg: float | None = None) -> Floats:
        """True felt inertia: newtons at the handle per rad/s² of the joint, (n,)."""
        load = self.load_kg if load_kg is None else load_kg
        return self.machine.inertia_kg_m2(q_rad, load) / self.machine.handle_travel_m(q_rad)

    def rate_squared_n_per_rad2_s2(self, q_rad: Floats, load_kg: float | None = None) -> Floats:
        """True factor of the squared rate (inertia that varies along the travel), (n,)."""
        load = self.load_kg if load_kg is None else load_kg
        return 0.5 * self.machine.inertia_slope_kg_m2(q_rad, load) / self.machine.handle_travel_m(q_rad)

    @property
    def viscous_n_per_rad_s(self) -> float:
        """True viscous friction at the handle."""
        return self.machine.friction.viscous_n_per_rad_s


def scenario_names() -> tuple[str, ...]:
    """Names that `scenario` knows."""
    return machine_names()


def scenario(
    name: str,
    *,
    sensors: str = "ordinary",
    tempo: Tempo = "mixed",
    load_kg: float = 40.0,
    systematic: bool = False,
    person: Person | None = None,
    partner: Partner | None = None,
    joint: Joint | None = None,
) -> Scenario:
    """The named emulated session.

    Parameters
    ----------
    name : str
        A machine of `scenario_names`.
    sensors : {"ordinary", "cheap", "phone", "fast"}
    tempo : {"slow", "brisk", "mixed"}
        Overrides the tempo of `person`.
    load_kg : float
    systematic : bool
        Draw errors of calibration, stated start angle and stated load too.
    person, partner : optional
        Habits other than the usual ones; a partner's hands on the handle.
    joint : optional
        Play and flex.
    """
    habits = replace(person or Person(), tempo=tempo)
    return Scenario(
        name=name,
        machine=machine(name),
        person=habits,
        sensors=sensor_set(sensors),
        load_kg=load_kg,
        partner=partner,
        systematic=systematic,
        joint=joint,
    )
