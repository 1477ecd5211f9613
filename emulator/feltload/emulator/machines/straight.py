"""Emulated machines whose weight moves in a straight line: a sled on rails, a rope over pulleys.

The sensor turns with a wheel or a pulley, whose axle may travel as it turns.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol, runtime_checkable

import numpy as np

from feltload.core import Floats
from feltload.emulator.machines.friction import Friction


@runtime_checkable
class RollingPart(Protocol):
    """A machine whose turning part rolls: its axle travels in a straight line."""

    @property
    def axle_m_rad(self) -> tuple[float, float]:
        """Travel of the axle per radian, to the right and up, m."""

    @property
    def rim_m(self) -> float:
        """Radius of what turns, m: the sensor sits within it."""


@dataclass(frozen=True)
class StraightMover:
    """A weight, a handle and an axle that each move in proportion to one rotation.

    Parameters
    ----------
    rim_m : float
        Radius of the wheel or pulley.
    axle_m_rad : (float, float)
        Travel of its axle per radian, to the right and up; nothing for a fixed pulley.
    moved_m_rad, rise_m_rad : float
        Travel and rise of the weight per radian.
    handle_m_rad : float
        Travel of the handle per radian.
    carriage_kg : float
        Moves with the load.
    own_inertia_kg_m2 : float
        Of wheels and pulleys, about the rotation.
    start_angle_rad : float
        Elevation of the mark on the wheel on the start stop.
    """

    rim_m: float
    axle_m_rad: tuple[float, float]
    moved_m_rad: float
    rise_m_rad: float
    handle_m_rad: float
    carriage_kg: float
    own_inertia_kg_m2: float
    travel_rad: float
    start_angle_rad: float = 0.0
    hinge_inclination_rad: float = 0.0
    friction: Friction = field(default_factory=Friction)

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        return np.full_like(
            np.asarray(q_rad, dtype=float), (self.carriage_kg + load_kg) * g_m_s2 * self.rise_m_rad
        )

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        total = self.own_inertia_kg_m2 + (self.carriage_kg + load_kg) * self.moved_m_rad**2
        return np.full_like(np.asarray(q_rad, dtype=float), total)

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        return np.zeros_like(np.asarray(q_rad, dtype=float))

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        return np.full_like(np.asarray(q_rad, dtype=float), self.handle_m_rad)


def sled(
    wheel_m: float, incline_rad: float, carriage_kg: float, travel_m: float, friction: Friction
) -> StraightMover:
    """A sled pushed up its rails; the wheel with the sensor rolls on top of a rail, which rises to the left."""
    way = (-wheel_m * float(np.cos(incline_rad)), wheel_m * float(np.sin(incline_rad)))
    return StraightMover(
        wheel_m, way, wheel_m, way[1], wheel_m, carriage_kg, 2e-4, travel_m / wheel_m, 0.4, friction=friction
    )


def travelling_pulley(
    pulley_m: float, carriage_kg: float, travel_m: float, friction: Friction
) -> StraightMover:
    """A weight on a travelling pulley, which rolls up the strand that is tied fast; the handle goes twice as far."""
    rise = (0.0, pulley_m)
    return StraightMover(
        pulley_m,
        rise,
        pulley_m,
        pulley_m,
        2.0 * pulley_m,
        carriage_kg,
        3e-4,
        travel_m / (2.0 * pulley_m),
        -0.7,
        friction=friction,
    )


def fixed_pulley(pulley_m: float, carriage_kg: float, travel_m: float, friction: Friction) -> StraightMover:
    """A weight straight on the rope, over one pulley with a fixed axle, which turns with the rope."""
    return StraightMover(
        pulley_m,
        (0.0, 0.0),
        pulley_m,
        pulley_m,
        pulley_m,
        carriage_kg,
        3e-4,
        travel_m / pulley_m,
        1.1,
        friction=friction,
    )
