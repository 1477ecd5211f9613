"""Rigid-body mechanics of emulated resistance machines, written from Lagrange's equation.

One degree of freedom q, the rotation from the start stop. A machine gives its potential energy V(q),
the generalised inertia M(q) of kinetic energy T = M(q) q'^2 / 2, and the travel of the handle along the
line of pull per radian h(q). Lagrange's equation then gives the pull that the handle needs::

    pull * h = M q'' + M'(q) q'^2 / 2 + V'(q)        (+ friction, as a force at the handle)
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from feltload.core import Floats
from feltload.emulator.machines.friction import Friction


class MachineDynamics(Protocol):
    """What an emulated machine knows of itself."""

    @property
    def start_angle_rad(self) -> float:
        """Elevation of the line pivot -> handle on the start stop, rad."""

    @property
    def travel_rad(self) -> float:
        """Rotation from the start stop to the end stop, rad."""

    @property
    def hinge_inclination_rad(self) -> float:
        """Tilt of the hinge axis out of the horizontal, rad."""

    @property
    def friction(self) -> Friction:
        """Friction felt at the handle."""

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        """V'(q), (n,) N m."""

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        """M(q), (n,) kg m²."""

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        """M'(q), (n,) kg m² per rad."""

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        """h(q): handle travel along the line of pull per radian, (n,) m."""


def required_pull_n(
    machine: MachineDynamics,
    q_rad: Floats,
    rate_rad_s: Floats,
    accel_rad_s2: Floats,
    load_kg: float,
    g_m_s2: float,
) -> Floats:
    """Force along the line of pull that makes the machine move so, (n,) N."""
    inertial = machine.inertia_kg_m2(q_rad, load_kg) * accel_rad_s2
    varying = 0.5 * machine.inertia_slope_kg_m2(q_rad, load_kg) * rate_rad_s**2
    slope = machine.potential_slope_n_m(q_rad, load_kg, g_m_s2)
    pull = (inertial + varying + slope) / machine.handle_travel_m(q_rad)
    return pull + machine.friction.force_n(q_rad, rate_rad_s, load_kg)


@dataclass(frozen=True)
class LeverMass:
    """A mass fixed to a lever.

    Parameters
    ----------
    name : str
        What it is.
    mass_kg : float or None
        Mass; None for the plates of the recording's load.
    radius_m, elevation_rad : float
        Distance from the pivot, and elevation of the line pivot -> mass on the start stop.
    own_inertia_kg_m2 : float
        Moment of inertia about its own centre; for plates, per kilogram.
    """

    name: str
    mass_kg: float | None
    radius_m: float
    elevation_rad: float
    own_inertia_kg_m2: float = 0.0


@dataclass(frozen=True)
class Lever:
    """Rigid lever on one hinge; masses anywhere on it, a counterweight is just one more.

    Parameters
    ----------
    masses : tuple of LeverMass
    handle_radius_m : float
        Distance pivot -> handle.
    start_angle_rad, travel_rad : float
    hinge_inclination_rad : float
        0 for a horizontal hinge.
    pull_direction_rad : float or None
        World elevation of a fixed line of pull in the plane of the lever; None: square to the lever.
    friction : Friction
    """

    masses: tuple[LeverMass, ...]
    handle_radius_m: float
    start_angle_rad: float
    travel_rad: float
    hinge_inclination_rad: float = 0.0
    pull_direction_rad: float | None = None
    friction: Friction = field(default_factory=Friction)

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        q = np.asarray(q_rad, dtype=float)
        in_plane = g_m_s2 * np.cos(self.hinge_inclination_rad)
        total = np.zeros_like(q)
        for item in self.masses:
            mass = load_kg if item.mass_kg is None else item.mass_kg
            total += mass * in_plane * item.radius_m * np.cos(item.elevation_rad + q)
        return total

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        total = 0.0
        for item in self.masses:
            if item.mass_kg is None:
                total += load_kg * (item.radius_m**2 + item.own_inertia_kg_m2)
            else:
                total += item.mass_kg * item.radius_m**2 + item.own_inertia_kg_m2
        return np.full_like(np.asarray(q_rad, dtype=float), total)

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        return np.zeros_like(np.asarray(q_rad, dtype=float))

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        q = np.asarray(q_rad, dtype=float)
        if self.pull_direction_rad is None:
            return np.full_like(q, self.handle_radius_m)
        # The handle moves square to the lever; only its part along the line of pull counts.
        return self.handle_radius_m * np.sin(self.pull_direction_rad - (self.start_angle_rad + q))
