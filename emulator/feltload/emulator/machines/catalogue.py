"""The invented machines that emulated sessions run on. None is a machine on the market."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from feltload.core import InputError
from feltload.emulator.machines.dynamics import Lever, LeverMass, MachineDynamics
from feltload.emulator.machines.friction import Friction, TightSpot
from feltload.emulator.machines.linked import CamDrum, FourBarLever, SprungLever
from feltload.emulator.machines.straight import StraightMover, fixed_pulley, sled, travelling_pulley


def _lever_row() -> Lever:
    """Rowing lever with a counterweight; heaviest a third up, lighter towards the end."""
    return Lever(
        masses=(
            LeverMass("arm", 8.6, 0.36, np.radians(-26.0), 0.35),
            LeverMass("counterweight", 2.4, 0.22, np.radians(158.0), 0.005),
            LeverMass("plates", None, 0.30, np.radians(-14.0), 0.012),
        ),
        handle_radius_m=0.64,
        start_angle_rad=np.radians(-32.0),
        travel_rad=np.radians(68.0),
        friction=Friction(5.0, 0.14, position_share=0.2, position_cycles=0.6),
    )


def _rising_arm() -> Lever:
    """Long straight arm with the mass far out: easy at the bottom, hard near horizontal."""
    return Lever(
        masses=(
            LeverMass("arm", 11.0, 0.55, np.radians(-68.0), 0.9),
            LeverMass("plates", None, 0.82, np.radians(-72.0), 0.012),
        ),
        handle_radius_m=1.05,
        start_angle_rad=np.radians(-70.0),
        travel_rad=np.radians(66.0),
        friction=Friction(4.0, 0.10),
    )


def _over_the_top() -> Lever:
    """Plates close to the pivot that pass over and behind it: drops off towards the end."""
    return Lever(
        masses=(
            LeverMass("arm", 12.5, 0.46, np.radians(-30.0), 0.5),
            LeverMass("plates", None, 0.21, np.radians(28.0), 0.012),
        ),
        handle_radius_m=0.70,
        start_angle_rad=np.radians(-15.0),
        travel_rad=np.radians(78.0),
        friction=Friction(5.0, 0.12, viscous_n_per_rad_s=3.0),
    )


def _fixed_pull() -> Lever:
    """Lever pulled by a strap along a line that does not turn with it."""
    return replace(
        _lever_row(),
        pull_direction_rad=np.radians(86.0),
        start_angle_rad=np.radians(-30.0),
        travel_rad=np.radians(60.0),
    )


def _inclined_lever() -> Lever:
    """The rowing lever on a hinge inclined by 25 degrees."""
    return replace(_lever_row(), hinge_inclination_rad=np.radians(25.0))


def _steep_hinge() -> SprungLever:
    """Lever on a hinge 15 degrees from vertical; a spring does most of the work."""
    lever = Lever(
        masses=(
            LeverMass("arm", 6.0, 0.3, np.radians(-20.0), 0.2),
            LeverMass("plates", None, 0.35, np.radians(-20.0), 0.012),
        ),
        handle_radius_m=0.5,
        start_angle_rad=np.radians(-25.0),
        travel_rad=np.radians(70.0),
        hinge_inclination_rad=np.radians(75.0),
        friction=Friction(4.0, 0.1),
    )
    return SprungLever(lever, (-0.05, -0.42), 0.22, np.radians(-20.0), 0.28, 900.0)


def _four_bar() -> FourBarLever:
    """Handle lever that lifts plates on a rocker; felt inertia varies along the travel."""
    return FourBarLever(
        crank_m=0.24,
        coupler_m=0.52,
        rocker_m=0.36,
        rocker_pivot_m=(0.55, 0.10),
        crank_elevation_rad=np.radians(62.0),
        above=True,
        handle_radius_m=0.66,
        start_angle_rad=np.radians(-20.0),
        travel_rad=np.radians(62.0),
        arm_kg_m=2.6,
        arm_elevation_rad=np.radians(-18.0),
        arm_inertia_kg_m2=1.4,
        rocker_kg_m=1.8,
        rocker_inertia_kg_m2=0.7,
        peg_radius_m=0.44,
        peg_lead_rad=np.radians(-105.0),
        friction=Friction(7.0, 0.16, position_share=0.15, position_cycles=0.4),
    )


def _cam_drum() -> CamDrum:
    """Plates on a cable over a cam that is largest in the middle of the travel."""
    return CamDrum(
        mean_radius_m=0.13,
        swing_m=0.045,
        cycles=1.9,
        phase_rad=-0.1,
        carriage_kg=3.5,
        pulley_ratio=1.0,
        arm_kg_m=0.8,
        arm_elevation_rad=np.radians(-75.0),
        own_inertia_kg_m2=0.45,
        handle_radius_m=0.30,
        start_angle_rad=np.radians(-80.0),
        travel_rad=np.radians(95.0),
        friction=Friction(5.0, 0.35, viscous_n_per_rad_s=3.0),
    )


def _band_arm() -> SprungLever:
    """The long arm with a strong band that tightens through the travel."""
    lever = replace(_rising_arm(), travel_rad=np.radians(60.0))
    return SprungLever(lever, (-0.10, -0.62), 0.45, np.radians(-70.0), 0.38, 850.0, 2500.0)


def _sticky_lever() -> Lever:
    """The rowing lever with bearings that stick at low rate."""
    friction = Friction(
        9.0, 0.2, position_share=0.25, position_cycles=0.9, stribeck_share=0.35, stribeck_rate_rad_s=0.08
    )
    return replace(_lever_row(), friction=friction)


def _tight_spot() -> Lever:
    """The long arm with a bearing that binds in one place, at 17 degrees."""
    arm = _rising_arm()
    start = np.radians(-22.0)
    spot = TightSpot(np.radians(17.0) - start, 7.5, np.radians(3.5))
    masses = tuple(replace(item, elevation_rad=item.elevation_rad + np.radians(48.0)) for item in arm.masses)
    return replace(arm, masses=masses, start_angle_rad=start, friction=Friction(4.0, 0.0, spots=(spot,)))


def _sled_wheel() -> StraightMover:
    """Leg press sled, its wheel turning once and a fifth."""
    return sled(0.055, np.radians(45.0), 30.0, 0.42, Friction(8.0, 0.1))


def _travelling_pulley() -> StraightMover:
    """Weight stack at twice its travel, the sensor on the pulley that goes up with it."""
    return travelling_pulley(0.045, 2.0, 0.7, Friction(3.0, 0.06))


def _rope_pulley() -> StraightMover:
    """Weight straight on the rope; the large pulley above it turns more than once."""
    return fixed_pulley(0.10, 1.5, 0.75, Friction(3.0, 0.08))


_MACHINES: dict[str, Callable[[], MachineDynamics]] = {
    "lever-row": _lever_row,
    "rising-arm": _rising_arm,
    "over-the-top": _over_the_top,
    "fixed-pull": _fixed_pull,
    "inclined-lever": _inclined_lever,
    "steep-hinge": _steep_hinge,
    "four-bar": _four_bar,
    "cam-drum": _cam_drum,
    "band-arm": _band_arm,
    "sticky-lever": _sticky_lever,
    "sled-wheel": _sled_wheel,
    "travelling-pulley": _travelling_pulley,
    "rope-pulley": _rope_pulley,
    "tight-spot": _tight_spot,
}


def machine_names() -> tuple[str, ...]:
    """Names of all emulated machines."""
    return tuple(_MACHINES)


def machine(name: str) -> MachineDynamics:
    """The emulated machine of that name."""
    if name not in _MACHINES:
        raise InputError(
            f"no emulated machine called {name!r}", remedy=f"choose one of: {', '.join(_MACHINES)}"
        )
    return _MACHINES[name]()
