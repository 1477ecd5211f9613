"""A lever about one hinge: masses at radii and elevations, a handle at its own radius."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Annotated, ClassVar, Final

import numpy as np
from pydantic import Field

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.limits import LEVER_MASS_RADIUS
from feltload.calibration.machine.mechanism import (
    Frame,
    Handle,
    Share,
    Stroke,
    Values,
    travel_across,
    travel_along,
    turning_frame,
)
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.mechanisms.section import MechanismSection
from feltload.calibration.machine.parameters import (
    HINGE_INCLINATION,
    LENGTH,
    START_ANGLE,
    HandleRadius,
    Inclination,
    MaybeAngle,
    Parameter,
    ParameterKey,
    within,
)
from feltload.core import Floats, Quantity

_HANDLE_RADIUS: Final = ParameterKey("handle_radius")
_PULL_ANGLE: Final = ParameterKey("pull_angle")
_PULL_DIRECTION: Final = ParameterKey("pull_direction")


class LeverMass(RidingMass):
    """``[[lever.mass]]``."""

    radius: Annotated[Quantity | None, within("length", LEVER_MASS_RADIUS), LENGTH] = None


class LeverSection(MechanismSection):
    """``[lever]`` of a machine file.

    The pull is tangential unless ``pull_angle`` (between lever and line of pull, fixed to the lever) or
    ``pull_direction`` (elevation in space, as of a strap to a distant person) is given. A counterweight is a mass
    on the other side of the hinge.
    """

    kind: ClassVar[str] = "lever"

    mass: list[LeverMass] = Field(default_factory=list)  # type: ignore[assignment]
    handle_radius: HandleRadius
    hinge_inclination: Inclination = Quantity(0.0, None, "0 deg", "deg")
    pull_angle: MaybeAngle = None
    pull_direction: MaybeAngle = None

    def mechanism(self) -> Lever:
        if self.pull_angle is not None and self.pull_direction is not None:
            raise MachineError(
                "both pull_angle and pull_direction are given",
                where="lever",
                remedy="keep pull_angle if the line of pull turns with the lever, pull_direction if it stays put",
            )
        return Lever()


class Lever:
    """Rigid lever; the handle's elevation on the start stop is the machine's start angle."""

    kind: ClassVar[str] = LeverSection.kind
    links: ClassVar[tuple[str, ...]] = ("arm",)
    sliding: ClassVar[tuple[str, ...]] = ()
    turning: ClassVar[str] = "arm"
    at_once: ClassVar[bool] = True

    def extra_parameters(self) -> Sequence[Parameter]:
        return ()

    def frames(self, q: Floats, values: Values) -> dict[str, Frame]:
        return {"arm": turning_frame(q)}

    def handle(self, frames: Mapping[str, Frame], q: Floats, values: Values) -> Handle:
        path = frames["arm"].point(values[_HANDLE_RADIUS], values[START_ANGLE])
        line = values[START_ANGLE] + q
        if _PULL_ANGLE in values:
            return Handle(travel_along(path, line + values[_PULL_ANGLE]), path, line)
        if _PULL_DIRECTION in values:
            return Handle(travel_along(path, values[_PULL_DIRECTION]), path, line)
        return Handle(travel_across(path), path, line)

    def rolling_m(self, values: Values) -> float:
        return 0.0

    def tilt(self, values: Values) -> float:
        return np.cos(values[HINGE_INCLINATION])  # type: ignore[no-any-return]

    def slow_work(
        self, direction: int, shares: Mapping[str, Share], values: Values, gravity: float
    ) -> Floats:
        return shares["arm"].gradient

    def outline(self, q: float, values: Values) -> list[Stroke]:
        angle = values[START_ANGLE] + q
        tip = values[_HANDLE_RADIUS] * np.array([math.cos(angle), math.sin(angle)])
        return [Stroke(np.array([[0.0, 0.0], tip]))]
