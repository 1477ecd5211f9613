"""Masses that ride on a link of a mechanism."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

import numpy as np
from pydantic import BeforeValidator

from feltload.calibration.machine.limits import PART_MASS
from feltload.calibration.machine.mechanism import Frame, Share, Values
from feltload.calibration.machine.mechanisms.part import Part
from feltload.calibration.machine.parameters import (
    MASS,
    MaybeAngle,
    MaybeGyrationRadius,
    MaybeLength,
    read_quantity,
)
from feltload.core import Quantity

LOAD: Final = "load"


def _read_mass(written: Any) -> Any:
    return written if written == LOAD else read_quantity("mass", PART_MASS, written)


class RidingMass(Part):
    """``[[<mechanism>.mass]]``: a mass at a radius and an elevation on the start stop.

    ``mass = "load"`` stands for the mass that the recording says was loaded. ``gyration_radius`` is the radius of
    gyration about the mass's own centre, for parts that are not small; it changes the inertia, not the static force.
    """

    mass: Annotated[Quantity | Literal["load"], BeforeValidator(_read_mass), MASS]
    radius: MaybeLength = None
    angle: MaybeAngle = None
    gyration_radius: MaybeGyrationRadius = None

    @property
    def is_load(self) -> bool:
        """Whether this is the recording's load."""
        return self.mass == LOAD

    def share(self, frame: Frame, values: Values, load_kg: float, gravity: float) -> Share:
        mass = load_kg if self.is_load else values[self.key("mass")]
        path = frame.point(*self.anchor(values))
        spin = mass * values.get(self.key("gyration_radius"), 0.0) ** 2
        return Share(
            energy=mass * gravity * path.position[..., 1],
            gradient=mass * gravity * path.first[..., 1],
            inertia=mass * np.einsum("...j,...j->...", path.first, path.first) + spin * frame.turn_1**2,
            inertia_1=2.0 * mass * np.einsum("...j,...j->...", path.first, path.second)
            + 2.0 * spin * frame.turn_1 * frame.turn_2,
            mass_kg=mass,
        )
