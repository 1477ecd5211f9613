"""A sled on straight rails, measured by a wheel or pulley of known radius that turns with it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar, Final

import numpy as np

from feltload.calibration.machine.mechanism import (
    Frame,
    Handle,
    Path,
    Share,
    Stroke,
    Values,
    plane,
    sliding_frame,
)
from feltload.calibration.machine.mechanisms.section import MechanismSection
from feltload.calibration.machine.parameters import (
    Friction,
    Incline,
    Parameter,
    ParameterKey,
    Ratio,
    WheelRadius,
)
from feltload.core import Floats, Quantity

_INCLINE: Final = ParameterKey("incline")
_WHEEL_RADIUS: Final = ParameterKey("wheel_radius")
_HANDLE_RATIO: Final = ParameterKey("handle_ratio")
_RAIL_FRICTION: Final = ParameterKey("rail_friction")


class SledSection(MechanismSection):
    """``[sled]`` of a machine file.

    ``incline`` is the rails' elevation in the direction of the concentric motion; ``wheel_radius`` turns rotation
    into travel. ``handle_ratio`` is the handle's travel per travel of the sled (1: the hand moves with it).
    ``rail_friction`` is the coefficient of Coulomb friction on the rails.
    """

    kind: ClassVar[str] = "sled"
    handle_turns: ClassVar[bool] = False

    incline: Incline
    wheel_radius: WheelRadius
    handle_ratio: Ratio = Quantity(1.0, 0.0, "1", "")
    rail_friction: Friction = Quantity(0.0, 0.0, "0", "")

    def mechanism(self) -> Sled:
        return Sled()


class Sled:
    """Sled on rails."""

    kind: ClassVar[str] = SledSection.kind
    links: ClassVar[tuple[str, ...]] = ("sled",)
    sliding: ClassVar[tuple[str, ...]] = ("sled",)
    turning: ClassVar[str] = "wheel"
    at_once: ClassVar[bool] = True

    def extra_parameters(self) -> Sequence[Parameter]:
        return ()

    def frames(self, q: Floats, values: Values) -> dict[str, Frame]:
        incline, radius = values[_INCLINE], values[_WHEEL_RADIUS]
        right, up = radius * np.cos(incline), radius * np.sin(incline)
        still = np.zeros_like(q)
        travel, rate = plane(right * q, up * q), plane(right + still, up + still)
        return {"sled": sliding_frame(Path(travel, rate, plane(still, still)))}

    def handle(self, frames: Mapping[str, Frame], q: Floats, values: Values) -> Handle:
        ratio = values[_HANDLE_RATIO]
        path = frames["sled"].origin if np.all(np.equal(ratio, 1.0)) else None
        return Handle(values[_WHEEL_RADIUS] * ratio + np.zeros(q.size), path)

    def rolling_m(self, values: Values) -> float:
        return values[_WHEEL_RADIUS]

    def tilt(self, values: Values) -> float:
        return 1.0

    def slow_work(
        self, direction: int, shares: Mapping[str, Share], values: Values, gravity: float
    ) -> Floats:
        share = shares["sled"]
        pressed = share.mass_kg * gravity * np.cos(values[_INCLINE])
        return np.asarray(
            share.gradient + direction * values[_RAIL_FRICTION] * pressed * values[_WHEEL_RADIUS]
        )

    def outline(self, q: float, values: Values) -> list[Stroke]:
        along = np.array([math.cos(values[_INCLINE]), math.sin(values[_INCLINE])])
        across = np.array([-along[1], along[0]])
        here = values[_WHEEL_RADIUS] * q * along
        radius, half = values[_WHEEL_RADIUS], 0.12
        corners = ((-1.0, -0.5), (1.0, -0.5), (1.0, 0.5), (-1.0, 0.5), (-1.0, -0.5))
        # What rides on the sled is drawn at its middle, so the rail runs below: box, wheel, rail.
        axle = here - (0.5 * half + radius) * across
        foot = -(0.5 * half + 2.0 * radius) * across
        return [
            Stroke(np.array([foot - 0.3 * along, foot + (radius * 8.0 + 0.3) * along]), moving=False),
            Stroke(np.array([here + half * (s * along + t * across) for s, t in corners])),
            Stroke(axle[None, :], radius=radius),
        ]
