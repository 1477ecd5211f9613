"""Plans of help whose figures are chosen: the person is made so that the plan asks for them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from feltload.coaching import CapacityCurve, CapacitySource, HelpPlan, LoadLine, plan_help
from lever_profile import lever_profile

TARGET = 0.7
DEGREES = np.arange(-25.0, 45.1, 1.0)


def made_plan(
    at_deg: ArrayLike, help_n: ArrayLike, *, u95_n: float = 5.0, friction_n: float = 0.0
) -> HelpPlan:
    """A plan of a known machine, linear between these positions, with a band that comes from the person alone.

    While lowering it asks for twice the friction less.
    """
    line = replace(
        LoadLine.of(lever_profile(u_n=0.0)),
        friction_n=np.full(DEGREES.size, friction_n),
        friction_n_per_kg=np.zeros(DEGREES.size),
    )
    strength = (line.raising_n(40.0) - np.interp(DEGREES, at_deg, help_n)) / TARGET
    known = np.eye(DEGREES.size) * (0.5 * u95_n / TARGET) ** 2
    capacity = CapacityCurve(line.angle_rad, strength, known, CapacitySource.HOLDS)
    return plan_help(line, capacity, 40.0, TARGET)
