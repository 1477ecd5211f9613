"""A lever about one hinge: masses at radii and elevations, a handle at its own radius."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar

import numpy as np
from pydantic import Field

from feltload.calibration.errors import MachineError
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
from feltload.calibration.machine.parameters import Angle, Length, MaybeAngle, Parameter, Section
from feltload.core import Floats, Quantity


class LeverSection(Section):
    """``[lever]`` of a machine file.

    The pull is tangential unless ``pull_angle`` (between lever and line of pull, fixed to the lever) or
    ``pull_direction`` (elevation in space, as of a strap to a distant person) is given. A counterweight is a mass
    on the other side of the hinge.
    """

    handle_radius: Length
    hinge_inclination: Angle = Quantity(0.0, None, "0 deg", "deg")
    pull_angle: MaybeAngle = None
    pull_direction: MaybeAngle = None
    mass: list[RidingMass] = Field(default_factory=list)


class Lever:
    """Rigid lever; the handle's elevation on the start stop is the machine's start angle."""

    kind: ClassVar[str] = "lever"
    section: ClassVar[type[Section]] = LeverSection
    links: ClassVar[tuple[str, ...]] = ("arm",)
    sliding: ClassVar[tuple[str, ...]] = ()

    def __init__(self, section: LeverSection) -> None:
        if section.pull_angle is not None and section.pull_direction is not None:
            raise MachineError(
                "both pull_angle and pull_direction are given",
                where="lever",
                remedy="keep pull_angle if the line of pull turns with the lever, pull_direction if it stays put",
            )
        self._section = section

    def extra_parameters(self) -> Sequence[Parameter]:
        return ()

    def frames(self, q: Floats, values: Values) -> dict[str, Frame]:
        return {"arm": turning_frame(q)}

    def handle(self, frames: Mapping[str, Frame], q: Floats, values: Values) -> Handle:
        path = frames["arm"].point(values["handle_radius"], values["start_angle"])
        if "pull_angle" in values:
            return Handle(travel_along(path, values["start_angle"] + q + values["pull_angle"]), path)
        if "pull_direction" in values:
            return Handle(travel_along(path, values["pull_direction"]), path)
        return Handle(travel_across(path), path)

    def tilt(self, values: Values) -> float:
        return math.cos(values["hinge_inclination"])

    def slow_work(
        self, direction: int, shares: Mapping[str, Share], values: Values, gravity: float
    ) -> Floats:
        return shares["arm"].gradient

    def outline(self, q: float, values: Values) -> list[Stroke]:
        angle = values["start_angle"] + q
        tip = values["handle_radius"] * np.array([math.cos(angle), math.sin(angle)])
        return [Stroke(np.array([[0.0, 0.0], tip]))]
