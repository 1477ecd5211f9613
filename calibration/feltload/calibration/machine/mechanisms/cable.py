"""A weight lifted by a cable from a round drum or a cam, through pulleys.

The drum turns by q. The cable leaves it with moment arm r(q): the drum's radius, or a table of moment arms (distance
from the drum's axis to the line of the cable, which is what counts on a cam). Through a pulley ratio n the weight
rises dh/dq = r / n. Losses: an efficiency of the whole path, and fixed guides by Euler-Eytelwein, T1/T2 = e^(µβ).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar, Final

import numpy as np
from pydantic import Field

from feltload.calibration.errors import GeometryError, MachineError
from feltload.calibration.machine.mechanism import (
    Frame,
    Handle,
    Path,
    Share,
    Stroke,
    Values,
    plane,
    sliding_frame,
    turning_frame,
)
from feltload.calibration.machine.mechanisms.leaving import CableLeaving, LeavingSection
from feltload.calibration.machine.mechanisms.section import MechanismSection
from feltload.calibration.machine.parameters import (
    ANGLE,
    LENGTH,
    LOSS,
    START_ANGLE,
    Efficiency,
    Friction,
    HandleRadius,
    MaybeDrumRadius,
    Parameter,
    ParameterKey,
    Ratio,
    Section,
    TableAngle,
    TableRadius,
    Wrap,
    make_parameter,
)
from feltload.core import Floats, Quantity

# A cam may turn this much past its table before its moment arm counts as unknown.
_PAST_TABLE_RAD: Final = math.radians(2.0)
_HANG_M: Final = 0.5
_DRUM_RADIUS: Final = ParameterKey("drum_radius")
_CAM_MOUNTING: Final = ParameterKey("mounting", "cam")
_CAM_OFFSET: Final = ParameterKey("offset", "cam")
_PULLEY_RATIO: Final = ParameterKey("pulley_ratio")
_HANDLE_RADIUS: Final = ParameterKey("handle_radius")
_EFFICIENCY: Final = ParameterKey("efficiency")


class CableGuide(Section):
    """``[[cable.guide]]``: a fixed guide the cable slides over."""

    name: str
    friction: Friction
    wrap: Wrap


class CableSection(MechanismSection):
    """``[cable]`` of a machine file.

    Either ``drum_radius`` or ``cam``, a list of [rotation from the start stop, moment arm]; neither is needed while
    nothing rides on the stack. The handle turns with the drum at ``handle_radius`` (a lever's length, or the radius
    of the drum that a handle's cable runs off). Masses ride ``on`` stack or drum. ``leaving`` is for a cam's outline.
    """

    kind: ClassVar[str] = "cable"

    drum_radius: MaybeDrumRadius = None
    cam: list[tuple[TableAngle, TableRadius]] | None = None
    handle_radius: HandleRadius
    pulley_ratio: Ratio = Quantity(1.0, 0.0, "1", "")
    efficiency: Efficiency = Quantity(1.0, 0.0, "1", "")
    guide: list[CableGuide] = Field(default_factory=list)
    leaving: LeavingSection = Field(default_factory=LeavingSection)

    def mechanism(self) -> Cable:
        return Cable(self)


class Cable:
    """Cable machine."""

    kind: ClassVar[str] = CableSection.kind
    links: ClassVar[tuple[str, ...]] = ("stack", "drum")
    sliding: ClassVar[tuple[str, ...]] = ("stack",)
    turning: ClassVar[str] = "drum"
    at_once: ClassVar[bool] = True

    def __init__(self, section: CableSection) -> None:
        self._section = section
        given = sum(way is not None for way in (section.drum_radius, section.cam))
        lifts = any(mass.on in (None, "stack") for mass in section.mass)
        if given > 1 or (lifts and not given):
            raise MachineError(
                "give either drum_radius or cam",
                where="cable",
                remedy='drum_radius = "90(1) mm" for a round drum, cam = [["0 deg", "80 mm"], ...] for a cam',
            )
        if section.cam is not None:
            turns = np.array([row[0].value for row in section.cam])
            if turns.size < 2 or (np.diff(turns) <= 0.0).any():
                raise MachineError(
                    "the cam needs two or more rows with growing rotation",
                    where="cable.cam",
                    remedy="sort the rows",
                )
            # Slow to import, and only a cam needs it.
            from scipy.interpolate import PchipInterpolator

            self._turns = turns
            self._cam = PchipInterpolator(turns, np.array([row[1].value for row in section.cam]))

    @property
    def cam(self) -> tuple[Floats, Floats] | None:
        """The cam's table, rotations from the start stop (rad) and moment arms (m); None for a round drum."""
        if self._section.cam is None:
            return None
        return self._turns, np.array([row[1].value for row in self._section.cam])

    def with_cam(self, turns_rad: Floats, arms_m: Floats) -> Cable:
        """The same machine with a table of its own; drum or cam that it had is gone."""
        rows = [
            (Quantity(float(turn), None, "", "rad"), Quantity(float(arm), None, "", "m"))
            for turn, arm in zip(turns_rad, arms_m, strict=True)
        ]
        return Cable(self._section.model_copy(update={"cam": rows, "drum_radius": None}))

    @property
    def leaving(self) -> CableLeaving:
        """How the cable leaves the drum or cam."""
        return self._section.leaving.leaving()

    def extra_parameters(self) -> Sequence[Parameter]:
        parameters = []
        if self._section.cam is not None:
            known = [row[1].u for row in self._section.cam if row[1].u is not None]
            u = float(np.sqrt(np.mean(np.square(known)))) if known else None
            unit = self._section.cam[0][1].unit
            parameters = [
                make_parameter(_CAM_OFFSET, Quantity(0.0, u, f"0 {unit}", unit), LENGTH),
                make_parameter(_CAM_MOUNTING, Quantity(0.0, None, "0 deg", "deg"), ANGLE),
            ]
        for guide in self._section.guide:
            parameters.append(make_parameter(ParameterKey("friction", guide.name), guide.friction, LOSS))
            parameters.append(make_parameter(ParameterKey("wrap", guide.name), guide.wrap, ANGLE))
        return parameters

    def arm(self, q: Floats, values: Values) -> tuple[Floats, Floats, Floats]:
        """Cable wound (m), moment arm (m) and its derivative by q, each (n,)."""
        if self._section.cam is None:
            radius = values.get(_DRUM_RADIUS, 0.0)
            return radius * q, radius + np.zeros(q.size), np.zeros(q.size)
        turn = q + values[_CAM_MOUNTING]
        if (turn < self._turns[0] - _PAST_TABLE_RAD).any() or (
            turn > self._turns[-1] + _PAST_TABLE_RAD
        ).any():
            raise GeometryError(
                f"the travel reaches {np.degrees(turn.min()):.0f}° to {np.degrees(turn.max()):.0f}°, the cam's table "
                f"only {np.degrees(self._turns[0]):.0f}° to {np.degrees(self._turns[-1]):.0f}°",
                where="cable.cam",
                remedy="add rows",
            )
        offset = values[_CAM_OFFSET]
        wound = self._cam.antiderivative()
        start = wound(values[_CAM_MOUNTING])
        return wound(turn) - start + offset * q, self._cam(turn) + offset, self._cam(turn, 1)

    def frames(self, q: Floats, values: Values) -> dict[str, Frame]:
        wound, arm, slope = self.arm(q, values)
        ratio = values[_PULLEY_RATIO]
        # Where the stack hangs does not matter to the work. It can be drawn below the side that goes up.
        side = self.arm(np.zeros(1), values)[1][..., :1]
        stack = Path(plane(side, wound / ratio - _HANG_M), plane(0.0, arm / ratio), plane(0.0, slope / ratio))
        return {"stack": sliding_frame(stack), "drum": turning_frame(q)}

    def handle(self, frames: Mapping[str, Frame], q: Floats, values: Values) -> Handle:
        path = frames["drum"].point(values[_HANDLE_RADIUS], values[START_ANGLE])
        return Handle(values[_HANDLE_RADIUS] + np.zeros(q.size), path)

    def rolling_m(self, values: Values) -> float:
        return 0.0

    def tilt(self, values: Values) -> float:
        return 1.0

    def efficiency(self, values: Values) -> float:
        """Force passed on by the whole cable path, 0 to 1."""
        losses = sum(
            values[ParameterKey("friction", guide.name)] * values[ParameterKey("wrap", guide.name)]
            for guide in self._section.guide
        )
        return values[_EFFICIENCY] * np.exp(-losses)  # type: ignore[no-any-return]

    def slow_work(
        self, direction: int, shares: Mapping[str, Share], values: Values, gravity: float
    ) -> Floats:
        return shares["drum"].gradient + shares["stack"].gradient * self.efficiency(values) ** -direction

    def outline(self, q: float, values: Values) -> list[Stroke]:
        wound, arm, _ = self.arm(np.array([q]), values)
        angle = values[START_ANGLE] + q
        tip = values[_HANDLE_RADIUS] * np.array([math.cos(angle), math.sin(angle)])
        height = float(wound[0]) / values[_PULLEY_RATIO] - _HANG_M
        side = float(arm[0])
        lever = Stroke(np.array([[0.0, 0.0], tip]))
        if side == 0.0:
            return [lever]
        drum = Stroke(np.array([[0.0, 0.0]]), radius=side)
        return [drum, Stroke(np.array([[side, 0.0], [side, height]])), lever]
