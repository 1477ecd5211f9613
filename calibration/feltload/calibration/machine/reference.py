"""What a machine file tells the estimation: start angle, the handle's way, and what an angle is on this machine."""

from __future__ import annotations

import numpy as np

from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import HINGE_INCLINATION, START_ANGLE
from feltload.core import Floats
from feltload.signal import AngleKind, HandleTravel, ProfileError, Reference

BELOW_DEG = (25.0, 10.0, 5.0, 2.5, 0.0)
"""Rotations before the start stop tried for the handle's travel: arms give on their stop, and rests are taken early."""
FARTHEST_DEG = (360.0, 300.0, 270.0, 240.0, 210.0, 180.0, 165.0, *np.arange(150.0, 9.0, -5.0))
"""Rotations tried where the travel per radian varies: a linkage or a fixed line of pull need not go as far."""
STEP_DEG = 2.5
ENDLESS_DEG = 36_000.0
"""A handle that travels evenly, as of a drum or wheel, goes on for as many turns as anything here makes."""
EVEN = 1e-9
"""Travels per radian that differ by less than this part are one."""
DEAD_POINT_M = 1e-4
"""A handle that moves less than this per radian stands still."""
U_PART = 0.05
"""Part of a standard uncertainty by which a dimension is moved to see what it does."""


def reference_of(machine: Machine) -> Reference:
    """What a machine file says about the angle and the handle, for `feltload.signal.estimate` and `joined_table`.

    Parameters
    ----------
    machine : Machine
        As `parse_machine` or `load_machine` gives it.

    Returns
    -------
    Reference
    """
    start = machine.parameter(START_ANGLE)
    found = _handle_travel(machine)
    kind = _angle_kind(machine)
    travel = None if found is None else found.travel_m
    even = travel is not None and float(np.ptp(travel)) <= EVEN * abs(float(travel[0]))
    return Reference(
        machine_name=machine.name,
        start_angle_rad=start.value,
        u_start_angle_rad=start.u,
        handle_radius_m=float(travel[0]) if travel is not None and even else None,
        handle_travel=found,
        hinge_inclination_rad=machine.values.get(HINGE_INCLINATION),
        hinge_inclination_stated=all(p.declared for p in machine.parameters if p.key == HINGE_INCLINATION),
        angle=kind,
        turning_part=machine.mechanism.turning,
        rolling_m=machine.mechanism.rolling_m(machine.values),
    )


def _angle_kind(machine: Machine) -> AngleKind:
    """What start angle plus rotation is: a line to the handle that turns with the sensor, or not."""
    q = np.radians([0.0, 1.0])
    try:
        line = machine.handle(q).line_rad
    except GeometryError:
        return AngleKind.LEVER
    if line is None:
        return AngleKind.ROTATION
    turns = bool(np.allclose(line - q, machine.values[START_ANGLE], atol=1e-12))
    return AngleKind.LEVER if turns else AngleKind.HANDLE_LINE


def _handle_travel(machine: Machine) -> HandleTravel | None:
    """How far the handle goes per radian, over as much of the rotation as the mechanism allows."""
    for below_deg in BELOW_DEG:
        for beyond_deg in FARTHEST_DEG:
            q = np.radians(np.arange(-below_deg, beyond_deg + 0.5 * STEP_DEG, STEP_DEG))
            try:
                return _tabulated(machine, q)
            except (GeometryError, ProfileError):
                continue
    return None


def _tabulated(machine: Machine, q_rad: Floats) -> HandleTravel:
    """The handle's travel at these rotations, with what each dimension's uncertainty adds to it.

    Raises
    ------
    GeometryError, ProfileError
        The mechanism does not reach them all, or the handle stands still on the way.
    """
    handle = machine.handle(q_rad)
    travel, spread = handle.travel, _spread(machine, q_rad)
    if float(np.ptp(travel)) <= EVEN * abs(float(travel[0])):
        q_rad = np.radians(np.linspace(-ENDLESS_DEG, ENDLESS_DEG, 5))
        travel, spread = np.full(5, travel[0]), np.tile(spread[:, :1], 5)
    if float(np.min(np.abs(travel))) < DEAD_POINT_M:
        raise GeometryError("the handle does not move along its line of pull", where=machine.name)
    line = handle.line_rad if _angle_kind(machine) is AngleKind.HANDLE_LINE else None
    return HandleTravel(q_rad, travel, spread, line)


def _spread(machine: Machine, q_rad: Floats) -> Floats:
    """What one standard uncertainty of each dimension adds to the handle's travel, shape (p, k); none where nothing."""
    rows = []
    for parameter in machine.parameters:
        step = U_PART * parameter.u
        if step > 0.0:
            more, less = (
                machine.handle(q_rad, changed={parameter.key: parameter.value + shift}).travel
                for shift in (step, -step)
            )
            rows.append((more - less) / (2.0 * U_PART))
    return np.array([row for row in rows if np.any(np.abs(row) > 0.0)]).reshape(-1, q_rad.size)
