"""A sheet: the machine on its start stop with its dimensions, at a scale of ISO 5455 (from memory)."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import ParameterKey
from feltload.calibration.shop.board import Board
from feltload.calibration.shop.dimensions import MM, Dimension, Distance, Elevation, drawn_dimensions
from feltload.calibration.shop.drawn import LETTER_MM, Line, Ring, Sheet, circle_points
from feltload.core import Floats

SCALES: Final = (1, 2, 5, 10, 20, 50)
BEFORE: Final = "TODAY"
"""Layer of the machine that is drawn beneath."""
_ONE_POINT_MM: Final = 1.0
PAPER_MM: Final = (230.0, 130.0)
"""Room for the machine on A4 across, with its dimensions around it and the notes below."""


def machine_sheet(
    machine: Machine,
    labels: Mapping[ParameterKey, str],
    *,
    title: str,
    notes: Sequence[str] = (),
    before: Machine | None = None,
) -> Sheet:
    """Draw a machine on its start stop with its dimensions.

    Parameters
    ----------
    machine : Machine
    labels : mapping
        How each dimension is written; one without a label is not drawn.
    title : str
    notes : sequence of str
        Written below.
    before : Machine, optional
        Drawn beneath it on a layer of its own, without dimensions or names.
    """
    lines, rings, points = _parts(machine)
    beneath = _beneath(before)
    lines = [*beneath[0], *lines]
    rings = [*beneath[1], *rings]
    dimensions = [each for each in drawn_dimensions(machine) if each.key in labels]
    every = np.concatenate([*(line.points for line in lines), *(_box(ring) for ring in rings)])
    scale = _scale(np.ptp(every, axis=0))
    rings += [Ring("MACHINE", at, 0.35 * LETTER_MM * scale) for _, at in points]
    rings += [Ring(BEFORE, at, 0.35 * LETTER_MM * scale) for _, at in beneath[2]]
    board = Board(LETTER_MM * scale)
    for line in lines:
        board.keep_off(line.points)
    for ring in rings:
        board.keep_off(circle_points(ring))
    # Short ones first: there is least room for them.
    order = sorted(dimensions, key=lambda each: (isinstance(each, Elevation), _size(each)))
    placed = tuple(board.place(each, labels[each.key]) for each in order)
    names = tuple(board.name(text, at) for text, at in points)
    low, high = board.corners()
    return Sheet(title, tuple(notes), scale, tuple(lines), tuple(rings), names, placed, low, high)


def _beneath(machine: Machine | None) -> tuple[list[Line], list[Ring], list[tuple[str, Floats]]]:
    """Another machine's parts, on the layer of what is there today."""
    if machine is None:
        return [], [], []
    lines, rings, points = _parts(machine)
    return (
        [dataclasses.replace(line, layer=BEFORE) for line in lines],
        [dataclasses.replace(ring, layer=BEFORE) for ring in rings],
        points,
    )


def _parts(machine: Machine) -> tuple[list[Line], list[Ring], list[tuple[str, Floats]]]:
    lines, rings, names = [], [], []
    for stroke in machine.mechanism.outline(0.0, machine.values):
        layer = "MACHINE" if stroke.moving else "FRAME"
        if stroke.radius is not None:
            rings.append(Ring(layer, stroke.points[0] * MM, stroke.radius * MM))
        else:
            lines.append(Line(layer, stroke.points * MM))
    frames = machine.mechanism.frames(np.zeros(1), machine.values)
    handle = machine.mechanism.handle(frames, np.zeros(1), machine.values).path
    if handle is not None:
        names.append(("handle", handle.position[0] * MM))
    for rider in machine.riders:
        frame = frames[rider.on or machine.mechanism.links[0]]
        at = frame.point(*rider.anchor(machine.values)).position[0] * MM
        origin = frame.origin.position[0] * MM
        if np.hypot(*(at - origin)) > 0.0:
            lines.append(Line("CENTRE", np.array([origin, at])))
        anchor = [machine.values.get(ParameterKey(f"anchor_{axis}", rider.name)) for axis in "xy"]
        if anchor[0] is not None and anchor[1] is not None:
            lines.append(Line("MACHINE", np.array([at, [anchor[0] * MM, anchor[1] * MM]])))
        names.append((rider.name, at))
    return lines, rings, _together(names)


def _together(names: list[tuple[str, Floats]]) -> list[tuple[str, Floats]]:
    """Parts drawn at one point have their names on one line."""
    joined: list[tuple[str, Floats]] = []
    for text, at in names:
        same = [i for i, (_, other) in enumerate(joined) if np.hypot(*(other - at)) < _ONE_POINT_MM]
        if same:
            joined[same[0]] = (f"{joined[same[0]][0]}, {text}", at)
        else:
            joined.append((text, at))
    return joined


def _size(each: Dimension) -> float:
    if isinstance(each, Distance):
        return float(np.hypot(*(each.end - each.start)))
    return each.reach if isinstance(each, Elevation) else each.radius


def _scale(extent: Floats) -> int:
    fits = [s for s in SCALES if (extent / s <= PAPER_MM).all()]
    return fits[0] if fits else SCALES[-1]


def _box(ring: Ring) -> Floats:
    return np.array([ring.centre - ring.radius, ring.centre + ring.radius])
