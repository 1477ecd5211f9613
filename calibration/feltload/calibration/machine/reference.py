"""What a machine file tells the estimation: start angle and the handle's way."""

from __future__ import annotations

import numpy as np

from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import HINGE_INCLINATION, START_ANGLE
from feltload.signal import HandleTravel, ProfileError, Reference

WIDEST_TRAVELS_DEG = (150.0, 120.0, 100.0, 80.0, 60.0)
"""Rotations tried for the handle's travel: a linkage or a fixed line of pull need not go as far as the first."""


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
    travel = machine.terms(np.array([0.0, 0.5, 1.0]), 0.0).handle.travel
    constant = float(np.ptp(travel)) <= 1e-9 * abs(float(travel[0]))
    return Reference(
        machine_name=machine.name,
        start_angle_rad=start.value,
        u_start_angle_rad=start.u,
        handle_radius_m=float(travel[0]) if constant else None,
        handle_travel=_handle_travel(machine),
        hinge_inclination_rad=machine.values.get(HINGE_INCLINATION),
    )


def _handle_travel(machine: Machine) -> HandleTravel | None:
    """How far the handle goes per radian, over as much of the rotation as the mechanism allows."""
    for span_deg in WIDEST_TRAVELS_DEG:
        q = np.radians(np.linspace(0.0, span_deg, 61))
        try:
            return HandleTravel(q, machine.terms(q, 0.0).handle.travel)
        except (GeometryError, ProfileError):
            continue
    return None
