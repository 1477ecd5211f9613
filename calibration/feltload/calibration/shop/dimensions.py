"""Which dimensions of a machine can be drawn, and between which points: each is one entry of the machine file.

Points are in millimetres from the main pivot, x right, y up, on the start stop.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Stroke
from feltload.calibration.machine.parameters import START_ANGLE, ParameterKey
from feltload.core import Floats

MM: Final = 1e3
_LEAST_MM: Final = 1e-6


@dataclass(frozen=True)
class Distance:
    """The distance of two points (2,); along x or y alone where `axis` is 0 or 1."""

    key: ParameterKey
    start: Floats
    end: Floats
    axis: int | None = None


@dataclass(frozen=True)
class Elevation:
    """The angle of a line from `vertex` (2,) above the horizontal to the right; `reach` is the line's length."""

    key: ParameterKey
    vertex: Floats
    angle_rad: float
    reach: float


@dataclass(frozen=True)
class Round:
    """The radius of a circle about `centre` (2,)."""

    key: ParameterKey
    centre: Floats
    radius: float


Dimension = Distance | Elevation | Round


def drawn_dimensions(machine: Machine) -> tuple[Dimension, ...]:
    """Every dimension of a machine that is seen from the side; the others are for the table alone."""
    found = [*_of_mechanism(machine), *_of_riders(machine)]
    return tuple(each for each in found if each.key in machine.values and _is_seen(each))


def _is_seen(each: Dimension) -> bool:
    if isinstance(each, Distance):
        apart = each.end - each.start if each.axis is None else (each.end - each.start)[each.axis]
        return float(np.hypot.reduce(np.atleast_1d(apart))) > _LEAST_MM
    return abs(each.angle_rad) > _LEAST_MM if isinstance(each, Elevation) else each.radius > _LEAST_MM


def _of_mechanism(machine: Machine) -> Iterator[Dimension]:
    kind, values = machine.mechanism.kind, machine.values
    key = ParameterKey
    strokes = machine.mechanism.outline(0.0, values)
    if kind in ("lever", "cable", "four-bar"):
        line = strokes[-1].points * MM
        yield Distance(key("handle_radius"), line[0], line[1])
        yield Elevation(START_ANGLE, line[0], values[START_ANGLE], _apart(line))
    if kind == "four-bar":
        chain = strokes[1].points * MM
        pivot, joint, elbow, far = chain
        yield Distance(key("ground_length"), pivot, far)
        yield Distance(key("input_length"), pivot, joint)
        yield Distance(key("coupler_length"), joint, elbow)
        yield Distance(key("rocker_length"), elbow, far)
        yield Elevation(key("input_angle"), pivot, values[key("input_angle")], _apart(chain[:2]))
        yield Elevation(key("ground_angle"), pivot, values[key("ground_angle")], _apart(chain[[0, 3]]))
    if kind == "sled":
        rail = strokes[0].points * MM
        yield Elevation(key("incline"), rail[0], values[key("incline")], _apart(rail))
    for name in ("drum_radius", "wheel_radius", "pulley_radius"):
        if (size := values.get(key(name))) is not None and (circle := _circle(strokes, size)) is not None:
            yield Round(key(name), circle.points[0] * MM, size * MM)


def _of_riders(machine: Machine) -> Iterator[Dimension]:
    values = machine.values
    frames = machine.mechanism.frames(np.zeros(1), values)
    for rider in machine.riders:
        frame = frames[rider.on or machine.mechanism.links[0]]
        origin = frame.origin.position[0] * MM
        at = frame.point(*rider.anchor(values)).position[0] * MM
        radius, angle = ParameterKey("radius", rider.name), ParameterKey("angle", rider.name)
        if radius in values:
            yield Distance(radius, origin, at)
        if angle in values:
            yield Elevation(angle, origin, values[angle], abs(values.get(radius, 0.0)) * MM)
        anchor = [values.get(ParameterKey(f"anchor_{axis}", rider.name)) for axis in "xy"]
        if anchor[0] is not None and anchor[1] is not None:
            end = np.array(anchor, dtype=float) * MM
            yield Distance(ParameterKey("anchor_x", rider.name), np.zeros(2), end, axis=0)
            yield Distance(ParameterKey("anchor_y", rider.name), np.zeros(2), end, axis=1)
        floor = ParameterKey("floor", rider.name)
        if floor in values:
            yield Distance(floor, np.zeros(2), np.array([at[0], values[floor] * MM]), axis=1)


def _circle(strokes: list[Stroke], radius: float) -> Stroke | None:
    return next((s for s in strokes if s.radius is not None and math.isclose(s.radius, radius)), None)


def _apart(line: Floats) -> float:
    return float(np.hypot(*(line[1] - line[0])))
