"""How a cable leaves its drum or cam: what a cam's outline depends on, and the curve does not."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final, Literal, Self

import numpy as np
from pydantic import model_validator

from feltload.calibration.machine.limits import ANGLE, DRUM_RADIUS, LENGTH, Limits
from feltload.calibration.machine.parameters import Section, within
from feltload.core import Floats, Quantity

_CABLE: Final = Limits(0.0005, 0.05, "a cable or belt is between 0.5 mm and 50 mm thick")
_BEND: Final = Limits(1.0, 100.0, "a cable is bent round 1 to 100 times its own thickness")
BEND_RATIO: Final = 18.0
"""Least diameter of bend over diameter of the cable, middle to middle: a rope drum of drive group 2m, DIN 15020-1
(from memory). The cable maker's figure goes first."""
DOWN: Final = Quantity(-0.5 * math.pi, None, "-90 deg", "deg")


class LeavingSection(Section):
    """``[cable.leaving]`` of a machine file.

    The cable runs off along ``direction`` (elevation; it hangs down unless given), or to a guide pulley whose axle is
    at ``pulley_x`` and ``pulley_y`` from the cam's axis. ``pulley_radius`` is to the middle of the cable, and
    ``pulley_side`` says on which side of the cable the pulley is: the cam's ("same"), or the other. ``diameter`` is
    the thickness of the cable, ``bend_ratio`` the least diameter that it may be bent to, over its own.
    """

    diameter: Annotated[Quantity | None, within("length", _CABLE)] = None
    bend_ratio: Annotated[Quantity, within("dimensionless", _BEND)] = Quantity(BEND_RATIO, None, "", "")
    direction: Annotated[Quantity | None, within("angle", ANGLE)] = None
    pulley_x: Annotated[Quantity | None, within("length", LENGTH)] = None
    pulley_y: Annotated[Quantity | None, within("length", LENGTH)] = None
    pulley_radius: Annotated[Quantity | None, within("length", DRUM_RADIUS)] = None
    pulley_side: Literal["same", "other"] = "same"

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        pulley = (self.pulley_x, self.pulley_y, self.pulley_radius)
        if any(pulley) and not all(pulley):
            raise ValueError("a guide pulley needs pulley_x, pulley_y and pulley_radius")
        if any(pulley) and self.direction is not None:
            raise ValueError("give either a direction or a guide pulley")
        return self

    def leaving(self) -> CableLeaving:
        """The same in SI."""
        thick = None if self.diameter is None else self.diameter.value
        if self.pulley_x is None or self.pulley_y is None or self.pulley_radius is None:
            return CableLeaving(thick, self.bend_ratio.value, (self.direction or DOWN).value)
        side = -1.0 if self.pulley_side == "same" else 1.0
        pulley = GuidePulley(
            self.pulley_x.value,
            self.pulley_y.value,
            self.pulley_radius.value,
            side * self.pulley_radius.value,
        )
        return CableLeaving(thick, self.bend_ratio.value, DOWN.value, pulley)


@dataclass(frozen=True)
class GuidePulley:
    """The pulley that a cable runs to from the cam.

    Attributes
    ----------
    x, y : float
        Its axle from the cam's, metres.
    radius : float
        To the middle of the cable, metres.
    outside : float
        How far its axle lies outside the line of the cable, seen from the cam: its radius, or less the same where the
        pulley is on the cam's side.
    """

    x: float
    y: float
    radius: float
    outside: float


@dataclass(frozen=True)
class CableLeaving:
    """How a cable leaves.

    Attributes
    ----------
    diameter : float or None
        Its thickness, metres.
    bend_ratio : float
        Least diameter of bend over its own.
    direction_rad : float
        Elevation of the cable from the cam towards the load, where no pulley guides it.
    pulley : GuidePulley or None
    """

    diameter: float | None
    bend_ratio: float
    direction_rad: float
    pulley: GuidePulley | None = None

    def normal_rad(self, arm: Floats) -> tuple[Floats, Floats, Floats]:
        """Elevation of the line's normal, from the axis to the line, and its derivatives by the moment arm.

        Parameters
        ----------
        arm : ndarray, shape (n,)
            Distance from the axis to the line of the cable, metres.

        Returns
        -------
        tuple of ndarray, each (n,)
            NaN where the pulley is too near for the arm.
        """
        if self.pulley is None:
            still = np.zeros(arm.size)
            return np.full(arm.size, self.direction_rad + 0.5 * math.pi), still, still
        far = math.hypot(self.pulley.x, self.pulley.y)
        part = (arm + self.pulley.outside) / far
        part = np.where(np.abs(part) < 1.0, part, np.nan)
        aside = np.sqrt(1.0 - part**2)
        angle = math.atan2(self.pulley.y, self.pulley.x) + np.arccos(part)
        return angle, -1.0 / (far * aside), -part / (far**2 * aside**3)
