"""The hinge's tilt as gravity showed it, in place of one that the machine file does not state."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import HINGE_INCLINATION
from feltload.signal import HingeFact, ProfileEstimate

SEEN: Final = 2.0
"""A tilt below this number of standard uncertainties is none."""
_UNRELIABLE: Final = (
    HingeFact.NOT_A_HINGE,
    HingeFact.SENSOR_MOVED,
    HingeFact.NO_GRAVITY,
    HingeFact.SENSORS_DISAGREE,
)


@dataclass(frozen=True)
class MeasuredTilt:
    """Tilt of the hinge against the horizontal, by gravity.

    Attributes
    ----------
    value_rad, u_rad : float
    taken : bool
        It stands in for a tilt that the machine file does not state.
    """

    value_rad: float
    u_rad: float
    taken: bool


def measured_tilt(estimate: ProfileEstimate, machine: Machine) -> MeasuredTilt | None:
    """The tilt that all sessions showed; None where the machine has no such hinge or the sensor is in doubt."""
    if HINGE_INCLINATION not in machine.values or not estimate.attitudes:
        return None
    if any(fact.kind in _UNRELIABLE for fact in estimate.warnings):
        return None
    values = np.array([attitude.inclination_rad for attitude in estimate.attitudes])
    stated = np.array([attitude.u_inclination_rad for attitude in estimate.attitudes])
    # One sensor has one offset: several sessions do not make it smaller.
    u = float(np.hypot(np.sqrt(np.mean(stated**2)), np.std(values)))
    value = float(np.average(values, weights=stated**-2))
    declared = machine.parameter(HINGE_INCLINATION).declared
    return MeasuredTilt(value, u, taken=not declared and value > SEEN * u)


def with_tilt(machine: Machine, tilt: MeasuredTilt | None) -> Machine:
    """The machine with the measured tilt in place of one that its file leaves out."""
    if tilt is None or not tilt.taken:
        return machine
    parameters = tuple(
        replace(p, value=tilt.value_rad, u=tilt.u_rad, u_is_default=False)
        if p.key == HINGE_INCLINATION
        else p
        for p in machine.parameters
    )
    return replace(machine, parameters=parameters)
