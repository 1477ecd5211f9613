"""The start angle against the sensor's place on the arm, which gravity shows at rest.

A sensor sits somewhere along the arm in most sessions, so the line from the hinge to it is near the handle's line, or
its opposite. That is no proof, and says nothing of a few degrees; but a start angle far from it whose sign or side
changed brings it onto the sensor was most likely read with the wrong sign, or from the other side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.agreement.explanation import CauseKind
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.four_bar import FourBar
from feltload.calibration.machine.parameters import START_ANGLE
from feltload.signal import HingeFact, ProfileEstimate

NEAR_RAD: Final = math.radians(12.0)
"""A sensor on the arm's line is this close to it, seen from the hinge (common practice, no source)."""
FAR_RAD: Final = math.radians(25.0)
_IN_DOUBT: Final = (HingeFact.SENSOR_MOVED, HingeFact.NOT_A_HINGE, HingeFact.SLIPPED_ABOUT_HINGE)


@dataclass(frozen=True)
class StartHint:
    """A start angle that the sensor's place contradicts.

    Attributes
    ----------
    stated_rad : float
        Start angle of the machine file.
    sensor_rad, u_rad : float
        Elevation of the line hinge -> sensor on the start stop, and its standard uncertainty.
    slip : CauseKind
        What would bring the stated one onto it: SIGN or OTHER_SIDE.
    meant_rad : float
        The start angle then.
    """

    stated_rad: float
    sensor_rad: float
    u_rad: float
    slip: CauseKind
    meant_rad: float


def start_hint(estimate: ProfileEstimate, machine: Machine) -> StartHint | None:
    """What the sensor's place says against the start angle; None where it says nothing."""
    mechanism = machine.mechanism
    if START_ANGLE not in machine.values or set(mechanism.links) == set(mechanism.sliding):
        return None
    if isinstance(mechanism, FourBar) and mechanism.handle_on != "input":
        return None
    seen = [a for a in estimate.attitudes if a.elevation_rad is not None and a.u_elevation_rad is not None]
    if not seen or any(fact.kind in _IN_DOUBT for fact in estimate.warnings):
        return None
    directions = np.array([a.elevation_rad for a in seen], dtype=float)
    sensor = float(np.angle(np.mean(np.exp(1j * directions))))
    if max(_apart(float(direction), sensor) for direction in directions) > NEAR_RAD:
        return None
    stated = machine.values[START_ANGLE]
    if _off_line(stated, sensor) < FAR_RAD:
        return None
    u = float(np.sqrt(np.mean([float(a.u_elevation_rad or 0.0) ** 2 for a in seen])))
    meant = {CauseKind.SIGN: -stated, CauseKind.OTHER_SIDE: math.pi - stated}
    near = [kind for kind, angle in meant.items() if _apart(angle, sensor) < NEAR_RAD]
    if len(near) != 1:
        return None
    return StartHint(stated, sensor, u, near[0], meant[near[0]])


def _apart(a: float, b: float) -> float:
    return abs(math.remainder(a - b, 2.0 * math.pi))


def _off_line(a: float, b: float) -> float:
    """Angle between two lines, whichever way along them."""
    return abs(math.remainder(a - b, math.pi))
