"""A sheet: the machine on its start stop with its dimensions, at a scale of ISO 5455 (from memory)."""

from __future__ import annotations

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
PAPER_MM: Final = (230.0, 130.0)
"""Room for the machine on A4 across, with its dimensions around it and the notes below."""


def machine_sheet(
    machine: Machine, labels: Mapping[ParameterKey, str], *, title: str, notes: Sequence[str] = ()
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
    """
    lines, rings, points = _parts(machine)
    dimensions = [each for each in drawn_dimensions(machine) if each.key in labels]
    every = np.concatenate([*(line.points for line in lines), *(_box(ring) for ring in rings)])
    scale = _scale(np.ptp(every, axis=0))
    rings += [Ring("MACHINE", at, 0.35 * LETTER_MM * scale) for _, at in points]
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
    return lines, rings, names


def _size(each: Dimension) -> float:
    if isinstance(each, Distance):
        return float(np.hypot(*(each.end - each.start)))
    return each.reach if isinstance(each, Elevation) else each.radius


def _scale(extent: Floats) -> int:
    fits = [s for s in SCALES if (extent / s <= PAPER_MM).all()]
    return fits[0] if fits else SCALES[-1]


def _box(ring: Ring) -> Floats:
    return np.array([ring.centre - ring.radius, ring.centre + ring.radius])
