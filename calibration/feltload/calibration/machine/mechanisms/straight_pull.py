"""A handle at the end of a rope that runs over pulleys and lifts a weight; the sensor turns with one of the pulleys.

All pulleys have one radius, to the middle of the rope. Fixed ones redirect the rope. An advantage n:1 is a block and
tackle: n strands carry the weight, and the handle goes n times as far as the weight; with 1:2 two strands carry the
handle. Each pulley passes on its efficiency of the tension, away from where the rope is pulled.

Source of the losses: DIN 15020-1, efficiency of rope drives, eta = eta_R^i (1 - eta_R^n) / (n (1 - eta_R)) with i fixed
pulleys before n strands (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Annotated, ClassVar, Final, Literal

import numpy as np
from pydantic import Field

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.mechanism import (
    Frame,
    Handle,
    Path,
    Share,
    Stroke,
    Values,
    sliding_frame,
)
from feltload.calibration.machine.mechanisms.rope_drawing import RopeLayout
from feltload.calibration.machine.mechanisms.section import MechanismSection
from feltload.calibration.machine.parameters import (
    Efficiency,
    MaybeAngle,
    Parameter,
    ParameterKey,
    WheelRadius,
)
from feltload.core import Floats, Quantity

Advantage = Literal["1:1", "2:1", "1:2", "3:1", "4:1", "5:1", "6:1"]

_PULLEY_RADIUS: Final = ParameterKey("pulley_radius")
_PULLEY_EFFICIENCY: Final = ParameterKey("pulley_efficiency")
_ROPE_DIRECTION: Final = ParameterKey("rope_direction")


class StraightPullSection(MechanismSection):
    """``[straight-pull]`` of a machine file.

    ``pulley_radius`` turns rotation into rope. ``pulleys`` is the number of fixed pulleys between weight and handle,
    ``advantage`` handle's travel to weight's. The sensor turns with a fixed pulley, or with the travelling one of 2:1
    and 1:2, which rolls along a strand at rest. ``rope_direction`` is the elevation of the rope at the handle.
    """

    kind: ClassVar[str] = "straight-pull"
    handle_turns: ClassVar[bool] = False

    pulley_radius: WheelRadius
    advantage: Advantage = "1:1"
    pulleys: Annotated[int, Field(ge=1, le=8)] = 1
    pulley_efficiency: Efficiency = Quantity(1.0, 0.0, "1", "")
    sensor_on: Literal["fixed pulley", "travelling pulley"] = "fixed pulley"
    rope_direction: MaybeAngle = None

    def mechanism(self) -> StraightPull:
        if self.sensor_on == "travelling pulley" and self.advantage not in ("2:1", "1:2"):
            raise MachineError(
                f"with an advantage of {self.advantage} the turns of a travelling pulley are not known",
                where="straight-pull.sensor_on",
                remedy='put the sensor on a fixed pulley and write sensor_on = "fixed pulley"',
            )
        return StraightPull(self)


class StraightPull:
    """Rope, pulleys, weight."""

    kind: ClassVar[str] = StraightPullSection.kind
    links: ClassVar[tuple[str, ...]] = ("weight", "handle", "pulley")
    sliding: ClassVar[tuple[str, ...]] = ("weight", "handle")
    turning: ClassVar[str] = "pulley"
    at_once: ClassVar[bool] = False

    def __init__(self, section: StraightPullSection) -> None:
        handle, weight = map(int, section.advantage.split(":"))
        self._strands = max(handle, weight)
        self._on_handle = weight > handle
        self._fixed = section.pulleys
        self._travelling = section.sensor_on == "travelling pulley"
        # The pulley's rim moves with the rope, or as far as the axle where it rolls along a strand at rest.
        rim = 1 if self._travelling else max(handle, weight)
        self._handle_share = handle / rim
        self._weight_share = weight / rim

    def extra_parameters(self) -> Sequence[Parameter]:
        return ()

    def frames(self, q: Floats, values: Values) -> dict[str, Frame]:
        radius, layout = values[_PULLEY_RADIUS], self._layout(values)
        out = layout.direction
        weight = _straight(layout.weight_m, np.array([0.0, 1.0]), radius * self._weight_share, q)
        handle = _straight(layout.handle_m, out, radius * self._handle_share, q)
        axle = _straight(np.zeros(2), out, 0.0, q)
        if self._travelling:
            axle = handle if self._on_handle else weight
        return {
            "weight": sliding_frame(weight),
            "handle": sliding_frame(handle),
            "pulley": Frame(axle, q, np.ones_like(q), np.zeros_like(q)),
        }

    def handle(self, frames: Mapping[str, Frame], q: Floats, values: Values) -> Handle:
        return Handle(np.full(q.size, values[_PULLEY_RADIUS] * self._handle_share), frames["handle"].origin)

    def rolling_m(self, values: Values) -> float:
        return values[_PULLEY_RADIUS] if self._travelling else 0.0

    def tilt(self, values: Values) -> float:
        return 1.0

    def losses(self, direction: int, values: Values) -> float:
        """Force at the handle over what it were without losses, of slow raising (+1) or lowering (-1)."""
        passed = values[_PULLEY_EFFICIENCY] ** direction
        if self._on_handle:
            tackle = sum(passed**-i for i in range(self._strands)) / self._strands
        else:
            tackle = self._strands / sum(passed**i for i in range(self._strands))
        return float(passed**-self._fixed * tackle)

    def slow_work(
        self, direction: int, shares: Mapping[str, Share], values: Values, gravity: float
    ) -> Floats:
        own = shares["handle"].gradient + shares["pulley"].gradient
        return own + shares["weight"].gradient * self.losses(direction, values)

    def outline(self, q: float, values: Values) -> list[Stroke]:
        radius = values[_PULLEY_RADIUS]
        return self._layout(values).strokes(radius * self._weight_share * q, radius * self._handle_share * q)

    def _layout(self, values: Values) -> RopeLayout:
        # Level, and away from the weight.
        usual = math.pi if self._fixed == 1 else 0.0
        direction = values.get(_ROPE_DIRECTION, usual)
        return RopeLayout(values[_PULLEY_RADIUS], self._fixed, self._strands, self._on_handle, direction)


def _straight(start: Floats, direction: Floats, metres_per_rad: float, q: Floats) -> Path:
    """A point that moves in a straight line with the rotation."""
    rate = np.tile(metres_per_rad * direction, (q.size, 1))
    return Path(start + q[:, None] * rate, rate, np.zeros_like(rate))
