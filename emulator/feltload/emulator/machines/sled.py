"""An emulated sled on rails: the handle moves with it, a wheel that rolls along turns with the sensor."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from feltload.core import Floats
from feltload.emulator.machines.friction import Friction


@dataclass(frozen=True)
class RailSled:
    """Plates on a sled that is pushed up straight rails.

    Parameters
    ----------
    wheel_radius_m : float
        Turns rotation into travel.
    incline_rad : float
        Elevation of the rails.
    sled_kg : float
    wheels_kg_m2 : float
        Inertia of all wheels about their axles, at the speed of the one that turns with the sensor.
    travel_rad : float
        Rotation from stop to stop.
    """

    wheel_radius_m: float
    incline_rad: float
    sled_kg: float
    wheels_kg_m2: float
    travel_rad: float
    start_angle_rad: float = 0.0
    hinge_inclination_rad: float = 0.0
    friction: Friction = field(default_factory=Friction)

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        rise = self.wheel_radius_m * np.sin(self.incline_rad)
        return np.full_like(np.asarray(q_rad, dtype=float), (self.sled_kg + load_kg) * g_m_s2 * rise)

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        total = self.wheels_kg_m2 + (self.sled_kg + load_kg) * self.wheel_radius_m**2
        return np.full_like(np.asarray(q_rad, dtype=float), total)

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        return np.zeros_like(np.asarray(q_rad, dtype=float))

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        return np.full_like(np.asarray(q_rad, dtype=float), self.wheel_radius_m)
