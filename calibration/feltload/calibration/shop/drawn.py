"""What a sheet holds: lines, circles, names and dimensions with their places, in millimetres of the machine."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.shop.dimensions import Dimension, Elevation
from feltload.core import Floats

LETTER_MM: Final = 3.5
"""Height of letters on paper (a size of ISO 3098, from memory)."""
LETTER_WIDTH: Final = 0.62
"""Of a letter, as a part of its height with the space after it."""


@dataclass(frozen=True)
class Line:
    """A drawn line (n, 2) of a layer."""

    layer: str
    points: Floats


@dataclass(frozen=True)
class Ring:
    """A drawn circle of a layer."""

    layer: str
    centre: Floats
    radius: float


@dataclass(frozen=True)
class Name:
    """A part's name with the middle of its letters at `at` (2,)."""

    text: str
    at: Floats


@dataclass(frozen=True)
class Placed:
    """A dimension with its place.

    Attributes
    ----------
    dimension : Dimension
    text : str
        As it is written.
    at : ndarray, shape (2,)
        Middle of the letters.
    turn_rad : float
        Of the letters.
    line : ndarray, shape (2, 2)
        Ends of its dimension line; of an elevation the ends of its arc, of a radius the centre and the rim.
    """

    dimension: Dimension
    text: str
    at: Floats
    turn_rad: float
    line: Floats


@dataclass(frozen=True)
class Sheet:
    """A drawing to scale.

    Attributes
    ----------
    title : str
    notes : tuple of str
    scale : int
        1 : scale.
    lines, rings, names, dimensions : tuple
    low, high : ndarray, shape (2,)
        Corners of what is drawn.
    block : tuple of tuple of str
        Heading and words of each cell of the title block.
    """

    title: str
    notes: tuple[str, ...]
    scale: int
    lines: tuple[Line, ...]
    rings: tuple[Ring, ...]
    names: tuple[Name, ...]
    dimensions: tuple[Placed, ...]
    low: Floats
    high: Floats
    block: tuple[tuple[str, str], ...] = ()

    @property
    def letter_mm(self) -> float:
        """Height of letters in millimetres of the machine."""
        return LETTER_MM * self.scale


def dimension_line(placed: Placed) -> Floats:
    """The line or arc of a dimension, (n, 2)."""
    each = placed.dimension
    if not isinstance(each, Elevation):
        return placed.line
    angle = math.remainder(each.angle_rad, 2.0 * math.pi)
    arc = float(np.hypot(*(placed.line[0] - each.vertex)))
    round_it = np.linspace(0.0, angle, 25)
    return np.asarray(each.vertex + arc * np.column_stack((np.cos(round_it), np.sin(round_it))))


def near(points: Floats, others: Floats, distance: float) -> Floats:
    """Whether each point lies near any other, (n,)."""
    if not len(points) or not len(others):
        return np.zeros(len(points))
    gap = np.hypot(*(points[:, None, :] - others[None, :, :]).T)
    return np.asarray((gap < distance).any(axis=0), dtype=float)


def dense(line: Floats, step: float) -> Floats:
    """Points of a line, `step` apart at most."""
    pieces = [line[:1]]
    for start, end in itertools.pairwise(line):
        count = max(1, math.ceil(float(np.hypot(*(end - start))) / step))
        pieces.append(start + np.linspace(0.0, 1.0, count + 1)[1:, None] * (end - start))
    return np.concatenate(pieces)


def circle_points(ring: Ring) -> Floats:
    angle = np.linspace(0.0, 2.0 * math.pi, 73)
    return np.asarray(ring.centre + ring.radius * np.column_stack((np.cos(angle), np.sin(angle))))
