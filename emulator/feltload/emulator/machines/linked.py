"""Emulated machines beyond the plain lever: four-bar lever, cable on a cam drum, arm against a spring."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.polynomial import Chebyshev

from feltload.core import Floats, InputError
from feltload.emulator.machines.dynamics import Lever
from feltload.emulator.machines.friction import Friction

# A knock presses the arm a little past its stops; tables reach that far too.
_MARGIN_RAD = 0.05


@dataclass(frozen=True)
class FourBarLever:
    """Handle lever that drives a rocker with the load through a coupler.

    Parameters
    ----------
    crank_m, coupler_m, rocker_m : float
        Link lengths: handle lever's pin radius, coupler, rocker.
    rocker_pivot_m : (float, float)
        Rocker pivot from the handle lever's pivot, to the right and up.
    crank_elevation_rad : float
        Elevation of the crank pin on the start stop.
    above : bool
        Which of the two ways the linkage is assembled: joint to the left of the line crank pin -> rocker
        pivot (True) or to its right.
    arm_kg_m, arm_elevation_rad, arm_inertia_kg_m2 : float
        First moment of the handle lever about its pivot, elevation of its centre on the start stop, and
        moment of inertia.
    rocker_kg_m, rocker_inertia_kg_m2 : float
        The same for the rocker; its centre and the plates lie at `peg_lead_rad` ahead of the rocker's line.
    peg_radius_m, peg_lead_rad : float
        Where the plates hang on the rocker.
    """

    crank_m: float
    coupler_m: float
    rocker_m: float
    rocker_pivot_m: tuple[float, float]
    crank_elevation_rad: float
    above: bool
    handle_radius_m: float
    start_angle_rad: float
    travel_rad: float
    arm_kg_m: float
    arm_elevation_rad: float
    arm_inertia_kg_m2: float
    rocker_kg_m: float
    rocker_inertia_kg_m2: float
    peg_radius_m: float
    peg_lead_rad: float
    hinge_inclination_rad: float = 0.0
    friction: Friction = field(default_factory=Friction)

    def _rocker_elevation(self, q_rad: Floats) -> Floats:
        """Elevation of the line rocker pivot -> joint, from where two circles cross."""
        pin = self.crank_m * np.exp(1j * (self.crank_elevation_rad + q_rad))
        pivot = complex(*self.rocker_pivot_m)
        between = pivot - pin
        gap = np.abs(between)
        along = (gap**2 + self.coupler_m**2 - self.rocker_m**2) / (2.0 * gap)
        square = self.coupler_m**2 - along**2
        if np.any(square <= 0.0):
            raise InputError("the four-bar does not close over its travel", remedy="change a link length")
        side = np.sqrt(square) * (1.0 if self.above else -1.0)
        joint = pin + (along + 1j * side) * between / gap
        return np.unwrap(np.angle(joint - pivot))

    @cached_property
    def _rocker(self) -> tuple[Chebyshev, Chebyshev, Chebyshev]:
        """Rocker elevation along q as a Chebyshev series (error near rounding), and its derivatives."""
        domain = [-_MARGIN_RAD, self.travel_rad + _MARGIN_RAD]
        nodes = np.cos(np.pi * (np.arange(40) + 0.5) / 40)[::-1]
        q = 0.5 * (domain[1] - domain[0]) * (nodes + 1.0) + domain[0]
        series = Chebyshev.fit(q, self._rocker_elevation(q), 39, domain=domain)
        return series, series.deriv(), series.deriv(2)

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        q = np.asarray(q_rad, dtype=float)
        series, ratio, _ = self._rocker
        arm = self.arm_kg_m * np.cos(self.arm_elevation_rad + q)
        moment = self.rocker_kg_m + load_kg * self.peg_radius_m
        rocker = moment * np.cos(series(q) + self.peg_lead_rad) * ratio(q)
        return np.asarray(g_m_s2 * np.cos(self.hinge_inclination_rad) * (arm + rocker), dtype=float)

    def _rocker_total_kg_m2(self, load_kg: float) -> float:
        return self.rocker_inertia_kg_m2 + load_kg * (self.peg_radius_m**2 + 0.012)

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        ratio = self._rocker[1](np.asarray(q_rad, dtype=float))
        return np.asarray(self.arm_inertia_kg_m2 + self._rocker_total_kg_m2(load_kg) * ratio**2, dtype=float)

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        q = np.asarray(q_rad, dtype=float)
        _, ratio, bend = self._rocker
        return np.asarray(2.0 * self._rocker_total_kg_m2(load_kg) * ratio(q) * bend(q), dtype=float)

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        return np.full_like(np.asarray(q_rad, dtype=float), self.handle_radius_m)


@dataclass(frozen=True)
class CamDrum:
    """Plates on a cable that winds onto a cam fixed to the handle lever.

    The cam's radius is ``mean_radius_m + swing_m * sin(cycles * q + phase_rad)``.

    Parameters
    ----------
    carriage_kg : float
        Lifted with the plates.
    pulley_ratio : float
        Metres of cable per metre of plates.
    arm_kg_m, arm_elevation_rad : float
        First moment of the lever, and elevation of its centre on the start stop.
    own_inertia_kg_m2 : float
        Lever, cam and pulleys about the cam's axis.
    """

    mean_radius_m: float
    swing_m: float
    cycles: float
    phase_rad: float
    carriage_kg: float
    pulley_ratio: float
    arm_kg_m: float
    arm_elevation_rad: float
    own_inertia_kg_m2: float
    handle_radius_m: float
    start_angle_rad: float
    travel_rad: float
    hinge_inclination_rad: float = 0.0
    friction: Friction = field(default_factory=Friction)

    def _lift_m(self, q: Floats) -> Floats:
        """Rise of the plates per radian."""
        wave = self.swing_m * np.sin(self.cycles * q + self.phase_rad)
        return np.asarray((self.mean_radius_m + wave) / self.pulley_ratio, dtype=float)

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        q = np.asarray(q_rad, dtype=float)
        arm = self.arm_kg_m * np.cos(self.arm_elevation_rad + q) * np.cos(self.hinge_inclination_rad)
        return np.asarray(g_m_s2 * ((self.carriage_kg + load_kg) * self._lift_m(q) + arm), dtype=float)

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        lift = self._lift_m(np.asarray(q_rad, dtype=float))
        return self.own_inertia_kg_m2 + (self.carriage_kg + load_kg) * lift**2

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        q = np.asarray(q_rad, dtype=float)
        bend = self.swing_m * self.cycles * np.cos(self.cycles * q + self.phase_rad) / self.pulley_ratio
        return 2.0 * (self.carriage_kg + load_kg) * self._lift_m(q) * bend

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        return np.full_like(np.asarray(q_rad, dtype=float), self.handle_radius_m)


@dataclass(frozen=True)
class SprungLever:
    """A lever pulled back by a spring or band between a fixed point and a point of the lever.

    Parameters
    ----------
    lever : Lever
    anchor_m : (float, float)
        Fixed end from the pivot, to the right and up.
    hook_radius_m, hook_elevation_rad : float
        The other end on the lever, on the start stop.
    free_length_m, stiffness_n_m : float
        Tension is ``stiffness (length - free)``, nothing while slack.
    hardening_n_m3 : float
        Tension added per cube of the extension (a band that stiffens).
    """

    lever: Lever
    anchor_m: tuple[float, float]
    hook_radius_m: float
    hook_elevation_rad: float
    free_length_m: float
    stiffness_n_m: float
    hardening_n_m3: float = 0.0

    @property
    def start_angle_rad(self) -> float:
        return self.lever.start_angle_rad

    @property
    def travel_rad(self) -> float:
        return self.lever.travel_rad

    @property
    def hinge_inclination_rad(self) -> float:
        return self.lever.hinge_inclination_rad

    @property
    def friction(self) -> Friction:
        return self.lever.friction

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        q = np.asarray(q_rad, dtype=float)
        turn = self.hook_elevation_rad + q
        x = self.hook_radius_m * np.cos(turn) - self.anchor_m[0]
        y = self.hook_radius_m * np.sin(turn) - self.anchor_m[1]
        length = np.hypot(x, y)
        stretch = np.maximum(0.0, length - self.free_length_m)
        tension = self.stiffness_n_m * stretch + self.hardening_n_m3 * stretch**3
        # Rate of the length as the hook circles the pivot.
        lengthening = self.hook_radius_m * (y * np.cos(turn) - x * np.sin(turn)) / length
        return self.lever.potential_slope_n_m(q, load_kg, g_m_s2) + tension * lengthening

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        return self.lever.inertia_kg_m2(q_rad, load_kg)

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        return self.lever.inertia_slope_kg_m2(q_rad, load_kg)

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        return self.lever.handle_travel_m(q_rad)
