"""A four-bar linkage: input link, coupler and rocker between two fixed pivots.

Vector loop input + coupler = ground + rocker. Positions in closed form on one branch; the derivatives follow from
differentiating the loop once and twice.

Source of the position equations: Freudenstein's equation, as in Norton, Design of Machinery, ch. 4 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar, Final, Literal

import numpy as np

from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.mechanism import (
    Frame,
    Handle,
    Path,
    Share,
    Stroke,
    Values,
    fixed_path,
    plane,
    travel_across,
    turning_frame,
)
from feltload.calibration.machine.mechanisms.section import MechanismSection
from feltload.calibration.machine.parameters import (
    HINGE_INCLINATION,
    START_ANGLE,
    Angle,
    CrankLength,
    HandleRadius,
    Inclination,
    LinkLength,
    Parameter,
    ParameterKey,
)
from feltload.core import Floats, Quantity

# Closer to a toggle than this (sine of the angle between coupler and rocker), the ratio runs away.
_TOGGLE: Final = 0.02
_INPUT_LENGTH: Final = ParameterKey("input_length")
_COUPLER_LENGTH: Final = ParameterKey("coupler_length")
_ROCKER_LENGTH: Final = ParameterKey("rocker_length")
_GROUND_LENGTH: Final = ParameterKey("ground_length")
_INPUT_ANGLE: Final = ParameterKey("input_angle")
_GROUND_ANGLE: Final = ParameterKey("ground_angle")
_HANDLE_RADIUS: Final = ParameterKey("handle_radius")


class FourBarSection(MechanismSection):
    """``[four-bar]`` of a machine file.

    The input link turns by q about the origin. ``input_angle`` and ``ground_angle`` are elevations on the start stop,
    of the input link and of the line from its pivot to the rocker's. ``branch`` is the side on which the linkage is
    assembled: open, or crossed when coupler and rocker cross the line of the ground. Masses ride ``on`` input,
    coupler (from the joint with the input) or rocker.
    """

    kind: ClassVar[str] = "four-bar"

    ground_length: LinkLength
    ground_angle: Angle = Quantity(0.0, None, "0 deg", "deg")
    input_length: CrankLength
    input_angle: Angle
    coupler_length: LinkLength
    rocker_length: LinkLength
    handle_radius: HandleRadius
    handle_on: Literal["input", "coupler", "rocker"] = "input"
    hinge_inclination: Inclination = Quantity(0.0, None, "0 deg", "deg")
    branch: Literal["open", "crossed"] = "open"

    def mechanism(self) -> FourBar:
        return FourBar(self)


class FourBar:
    """Four-bar linkage; tangential pull on a handle of any moving link."""

    kind: ClassVar[str] = FourBarSection.kind
    links: ClassVar[tuple[str, ...]] = ("rocker", "coupler", "input")
    sliding: ClassVar[tuple[str, ...]] = ()
    turning: ClassVar[str] = "crank"
    at_once: ClassVar[bool] = True

    def __init__(self, section: FourBarSection) -> None:
        self.handle_on = section.handle_on
        self._side = 1.0 if section.branch == "open" else -1.0

    def extra_parameters(self) -> Sequence[Parameter]:
        return ()

    def angles(self, q: Floats, values: Values) -> tuple[Floats, Floats]:
        """Elevations of coupler and rocker, each (n,), rad.

        Raises
        ------
        GeometryError
            The loop does not close, or passes a toggle position.
        """
        a, b = values[_INPUT_LENGTH], values[_COUPLER_LENGTH]
        c, d = values[_ROCKER_LENGTH], values[_GROUND_LENGTH]
        alpha = values[_INPUT_ANGLE] + q
        ground = values[_GROUND_ANGLE]
        right = d * np.cos(ground) - a * np.cos(alpha)
        up = d * np.sin(ground) - a * np.sin(alpha)
        reach = np.hypot(right, up)
        broken = (reach > b + c) | (reach < abs(b - c)) | (reach <= 0.0)
        if broken.any():
            lengths, first = _lengths(values), tuple(np.argwhere(broken)[0])
            distance = float(np.broadcast_to(reach, broken.shape)[first])
            what = (
                "coupler and rocker are too short to meet"
                if (reach > b + c)[first]
                else "coupler and rocker differ too much to meet"
            )
            raise GeometryError(
                f"the loop of {lengths} does not close {np.degrees(q[first[-1]]):.1f}° from the start stop: {what} "
                f"(the distance to bridge is {distance * 1e3:.0f} mm)",
                where="four-bar",
                remedy="check coupler_length, rocker_length and the start's input_angle",
            )
        inner = np.arccos(np.clip((reach**2 + b**2 - c**2) / (2.0 * reach * b), -1.0, 1.0))
        theta3 = np.arctan2(up, right) + self._side * inner
        theta4 = np.arctan2(b * np.sin(theta3) - up, b * np.cos(theta3) - right)
        toggle = np.abs(np.sin(theta4 - theta3)) < _TOGGLE
        if toggle.any():
            at = int(np.argwhere(toggle)[0][-1])
            raise GeometryError(
                f"coupler and rocker of {_lengths(values)} line up (toggle) {np.degrees(q[at]):.1f}° from the start "
                "stop",
                where="four-bar",
                remedy="no force is determined there: check coupler_length and rocker_length, or shorten the travel",
            )
        return theta3, theta4

    def frames(self, q: Floats, values: Values) -> dict[str, Frame]:
        a, b, c = values[_INPUT_LENGTH], values[_COUPLER_LENGTH], values[_ROCKER_LENGTH]
        # The start is solved along, so that turns count from the start stop.
        theta3, theta4 = self.angles(np.concatenate(([0.0], q)), values)
        start3, start4 = theta3[..., :1], theta4[..., :1]
        theta3, theta4 = theta3[..., 1:], theta4[..., 1:]
        theta2 = values[_INPUT_ANGLE] + q
        apart = np.sin(theta4 - theta3)
        rate3 = a * np.sin(theta2 - theta4) / (b * apart)
        rate4 = a * np.sin(theta2 - theta3) / (c * apart)
        # Second derivative of the loop, projected on the rocker's and on the coupler's line.
        along_4 = a * np.cos(theta2 - theta4) + b * rate3**2 * np.cos(theta3 - theta4) - c * rate4**2
        along_3 = a * np.cos(theta2 - theta3) + b * rate3**2 - c * rate4**2 * np.cos(theta4 - theta3)
        bend3 = along_4 / (b * apart)
        bend4 = along_3 / (c * apart)
        right, up = a * np.cos(theta2), a * np.sin(theta2)
        joint, across = plane(right, up), plane(-up, right)
        ground, far = values[_GROUND_ANGLE], values[_GROUND_LENGTH]
        pivot = fixed_path(q, far * np.cos(ground), far * np.sin(ground))
        return {
            "input": turning_frame(q),
            "coupler": Frame(Path(joint, across, -joint), _round(theta3 - start3, q), rate3, bend3),
            "rocker": Frame(pivot, _round(theta4 - start4, q), rate4, bend4),
        }

    def handle(self, frames: Mapping[str, Frame], q: Floats, values: Values) -> Handle:
        link = frames[self.handle_on]
        path = link.point(values[_HANDLE_RADIUS], values[START_ANGLE])
        return Handle(travel_across(path), path, values[START_ANGLE] + link.turn)

    def rolling_m(self, values: Values) -> float:
        return 0.0

    def tilt(self, values: Values) -> float:
        return np.cos(values[HINGE_INCLINATION])  # type: ignore[no-any-return]

    def slow_work(
        self, direction: int, shares: Mapping[str, Share], values: Values, gravity: float
    ) -> Floats:
        return np.asarray(sum(share.gradient for share in shares.values()))

    def outline(self, q: float, values: Values) -> list[Stroke]:
        here = np.array([q])
        frames = self.frames(here, values)
        joint, pivot = frames["coupler"].origin.position[0], frames["rocker"].origin.position[0]
        theta3 = float(self.angles(here, values)[0][0])
        elbow = joint + values[_COUPLER_LENGTH] * np.array([math.cos(theta3), math.sin(theta3)])
        tip = frames[self.handle_on].point(values[_HANDLE_RADIUS], values[START_ANGLE]).position[0]
        base = frames[self.handle_on].origin.position[0]
        return [
            Stroke(np.array([[0.0, 0.0], pivot]), moving=False),
            Stroke(np.array([[0.0, 0.0], joint, elbow, pivot])),
            Stroke(np.array([base, tip])),
        ]


def _lengths(values: Values) -> str:
    """All four, of the first machine where they are many."""
    ground, crank, coupler, rocker = (
        1e3 * float(np.ravel(values[key])[0])
        for key in (_GROUND_LENGTH, _INPUT_LENGTH, _COUPLER_LENGTH, _ROCKER_LENGTH)
    )
    return f"ground {ground:.0f}, input {crank:.0f}, coupler {coupler:.0f} and rocker {rocker:.0f} mm"


def _round(turn: Floats, q: Floats) -> Floats:
    """Turns since the start, taken as less than half a revolution away from it."""
    return np.asarray((turn + np.pi) % (2.0 * np.pi) - np.pi)
