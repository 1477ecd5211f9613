"""Machine files of emulated levers: what a tape measure would have said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.random import Generator

from feltload.core import InputError
from feltload.emulator.machines.dynamics import Lever
from feltload.emulator.scenarios import Scenario

_U_MASS_KG, _U_LENGTH_M, _U_ANGLE_DEG = 0.05, 0.002, 0.5


def peg_moved(scenario: Scenario, outward_m: float) -> Scenario:
    """The same session on a lever whose peg sits further out than its survey says.

    Raises
    ------
    InputError
        If the machine is not a plain lever.
    """
    lever = _lever(scenario)
    masses = tuple(
        replace(item, radius_m=item.radius_m + outward_m) if item.mass_kg is None else item
        for item in lever.masses
    )
    return replace(scenario, machine=replace(lever, masses=masses))


def machine_toml(
    scenario: Scenario, *, rng: Generator | None = None, start_angle_rad: float | None = None
) -> str:
    """Text of the machine file of an emulated lever.

    Parameters
    ----------
    scenario : Scenario
    rng : Generator, optional
        Draw every surveyed value at its stated uncertainty; without it they are exact.
    start_angle_rad : float, optional
        Stated start angle in place of the true (or drawn) one.
    """
    lever = _lever(scenario)

    def drawn(value: float, u: float) -> float:
        return value if rng is None else value + float(rng.normal(0.0, u))

    def length(value_m: float) -> str:
        return f'"{drawn(value_m, _U_LENGTH_M) * 1e3:.1f} +/- {_U_LENGTH_M * 1e3:g} mm"'

    def angle(value_rad: float, u_deg: float = _U_ANGLE_DEG) -> str:
        return f'"{drawn(np.degrees(value_rad), u_deg):.2f} +/- {u_deg:g} deg"'

    def kilograms(value_kg: float) -> str:
        return f'"{drawn(value_kg, _U_MASS_KG):.2f} +/- {_U_MASS_KG:g} kg"'

    u_start_deg = float(np.degrees(scenario.u_start_angle_rad))
    if start_angle_rad is None:
        start = angle(lever.start_angle_rad, round(u_start_deg, 2))
    else:
        start = f'"{np.degrees(start_angle_rad):.2f} +/- {u_start_deg:.2g} deg"'
    lines = [
        "# Invented machine of the emulated rig.",
        f'name = "{scenario.name}, emulated (invented)"',
        'mechanism = "lever"',
        f"start_angle = {start}",
        "",
        "[lever]",
        f"handle_radius = {length(lever.handle_radius_m)}",
    ]
    if lever.hinge_inclination_rad:
        lines.append(f"hinge_inclination = {angle(lever.hinge_inclination_rad)}")
    if lever.pull_direction_rad is not None:
        lines.append(f"pull_direction = {angle(lever.pull_direction_rad)}")
    for item in lever.masses:
        mass = '"load"' if item.mass_kg is None else kilograms(item.mass_kg)
        lines += [
            "",
            "[[lever.mass]]",
            f'name = "{item.name}"',
            f"mass = {mass}",
            f"radius = {length(item.radius_m)}",
            f"angle = {angle(item.elevation_rad)}",
        ]
    return "\n".join(lines) + "\n"


def _lever(scenario: Scenario) -> Lever:
    if not isinstance(scenario.machine, Lever):
        raise InputError(
            f"no machine file for the emulated {scenario.name}",
            remedy="choose a plain lever, such as lever-row",
        )
    return scenario.machine
