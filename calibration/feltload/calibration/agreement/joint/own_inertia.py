"""What a machine file leaves open of the felt inertia: how each part's mass is spread, and parts that turn along."""

from __future__ import annotations

from typing import Final

import numpy as np

from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Values
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.virtual_work import pose_of, work_terms
from feltload.core import Floats
from feltload.signal import by_thirds

PART_SPREAD: Final = (0.25, 0.15)
"""Squared radius of gyration of a part about its own centre over its squared distance from the axis, mean and spread:
1/3 for a bar from the axis, little for a compact counterweight (textbook; the spread is common practice, no source)."""
PLATES_SPREAD_M2: Final = (0.010, 0.006)
"""The same of plates about their own centre: discs of 0.15 to 0.45 m (common practice, no source)."""
TURNING_KG: Final = {True: (3.0, 5.0), False: (0.3, 0.6)}
"""Mass at the handle that does what parts do which turn along and no file lists, mean and spread: pulleys, wheels and
drums where a mechanism has any, grips and bolts where not (common practice, no source)."""
FORM_SHARE: Final = 0.01
"""Part of the felt inertia that no machine of points and lines is trusted below."""


def inertia_thirds(machine: Machine, values: Values, q_rad: Floats, loads_kg: Floats) -> Floats:
    """Felt inertia with every part's usual spread, by thirds of the travel, loads one after the other, (3 m,)."""
    return np.concatenate([_of_load(machine, values, q_rad, float(load))[0] for load in loads_kg])


def spread_columns(machine: Machine, q_rad: Floats, loads_kg: Floats) -> Floats:
    """Change of those values per standard deviation of each spread, shape (3 m, s)."""
    return np.vstack([_of_load(machine, machine.values, q_rad, float(load))[1] for load in loads_kg])


def _of_load(machine: Machine, values: Values, q: Floats, load_kg: float) -> tuple[Floats, Floats]:
    pose = pose_of(machine.mechanism, values, q)
    frames = pose.frames
    terms = work_terms(machine.mechanism, machine.riders, values, pose, load_kg, 1.0)
    travel = terms.handle.travel
    inertia, columns = terms.inertia, []
    for rider in machine.riders:
        link = rider.on or machine.mechanism.links[0]
        if not isinstance(rider, RidingMass) or link in machine.mechanism.sliding:
            continue
        if rider.key("gyration_radius") in values:
            continue
        radius, _ = rider.anchor(values)
        mass = load_kg if rider.is_load else values[rider.key("mass")]
        mean, spread = PLATES_SPREAD_M2 if rider.is_load else (share * radius**2 for share in PART_SPREAD)
        turning = mass * frames[link].turn_1 ** 2
        inertia = inertia + mean * turning
        columns.append(spread * turning)
    mean_kg, spread_kg = TURNING_KG[bool(machine.mechanism.sliding)]
    inertia = inertia + mean_kg * travel**2
    columns.append(spread_kg * travel**2)
    return by_thirds(inertia / travel), by_thirds(np.array(columns) / travel).T
