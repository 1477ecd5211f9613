"""Places for letters and dimension lines, where they hide neither one another nor the parts."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from feltload.calibration.shop.dimensions import Dimension, Distance, Elevation, Round
from feltload.calibration.shop.drawn import LETTER_WIDTH, Name, Placed, dense, dimension_line, near
from feltload.core import Floats

_OFFSETS: Final = (1.6, 3.4, 5.2, 7.0, 9.0, 11.0)
_ARCS: Final = (5.0, 8.0, 11.0, 14.0, 17.0, 20.0, 24.0, 28.0)
_SIDES: Final = (1.0, -1.0)
_SLIDES: Final = (0.5, 0.35, 0.65, 0.22, 0.78)
_TRIES_RAD: Final = np.radians([45, 135, -45, -135, 20, 160, -20, -160, 90, -90])
_NAME_REACH: Final = (1.4, 2.2, 3.4, 5.0)


class Board:
    """What is on a sheet already, as points to keep off, and the places that are left."""

    def __init__(self, letter: float) -> None:
        self.letter = letter
        self._lines = np.empty((0, 2))
        self._letters = np.empty((0, 2))
        self._dimensions = np.empty((0, 2))

    def keep_off(self, line: Floats) -> None:
        """A line that letters should not cover."""
        self._lines = np.concatenate((self._lines, dense(line, 0.4 * self.letter)))

    def corners(self) -> tuple[Floats, Floats]:
        every = np.concatenate((self._lines, self._letters))
        return every.min(axis=0) - self.letter, every.max(axis=0) + self.letter

    def place(self, dimension: Dimension, text: str) -> Placed:
        """The place of a dimension that hides least."""
        tried = [Placed(dimension, text, *way) for way in self._ways(dimension, text)]
        best = min(enumerate(tried), key=lambda each: self._price(each[1]) + 0.4 * each[0] / len(tried))[1]
        self._letters = np.concatenate((self._letters, self._spots(best.at, best.text, best.turn_rad)))
        line = dense(dimension_line(best), 0.4 * self.letter)
        self.keep_off(line)
        self._dimensions = np.concatenate((self._dimensions, line))
        return best

    def name(self, text: str, at: Floats) -> Name:
        """The place of a part's name beside its point."""
        width = 0.5 * LETTER_WIDTH * len(text) * self.letter
        tried = []
        for reach, angle in itertools.product(_NAME_REACH, _TRIES_RAD):
            way = np.array([math.cos(angle), math.sin(angle)])
            middle = at + reach * self.letter * way + np.array([width * np.sign(round(way[0], 6)), 0.0])
            tried.append((self._hidden(self._spots(middle, text, 0.0)) + 0.1 * reach, tuple(middle)))
        middle = np.array(min(tried)[1])
        self._letters = np.concatenate((self._letters, self._spots(middle, text, 0.0)))
        return Name(text, middle)

    def _ways(self, dimension: Dimension, text: str) -> Iterator[tuple[Floats, float, Floats]]:
        """Places to try, the usual ones first: middle of the letters, their turn, the dimension line."""
        if isinstance(dimension, Distance):
            for offset, side, slide in itertools.product(_OFFSETS, _SIDES, _SLIDES):
                yield self._along(dimension, side * offset, slide)
        elif isinstance(dimension, Elevation):
            for arc, slide in itertools.product(_ARCS, _SLIDES):
                yield self._around(dimension, text, arc * self.letter, slide)
        else:
            for angle, reach in itertools.product(_TRIES_RAD, (1.5, 3.0, 5.0)):
                yield self._rim(dimension, text, float(angle), reach)

    def _along(self, each: Distance, offset: float, slide: float) -> tuple[Floats, float, Floats]:
        along = each.end - each.start
        if each.axis is not None:
            along = along * np.eye(2)[each.axis]
        along = along / np.hypot(*along)
        across = np.array([-along[1], along[0]])
        base = across * (offset * self.letter)
        start = each.start + base
        if each.axis is not None:
            # Beyond the end that lies farther out on that side.
            out = max((0.0, float((each.end - each.start) @ across) * math.copysign(1.0, offset)))
            start = each.start + base + across * math.copysign(out, offset)
        end = start + along * float((each.end - each.start) @ along)
        turn = math.atan2(along[1], along[0])
        turn = (turn + 0.5 * math.pi) % math.pi - 0.5 * math.pi
        above = np.array([-math.sin(turn), math.cos(turn)])
        return start + slide * (end - start) + above * (0.8 * self.letter), turn, np.array([start, end])

    def _around(self, each: Elevation, text: str, arc: float, slide: float) -> tuple[Floats, float, Floats]:
        angle = math.remainder(each.angle_rad, 2.0 * math.pi)
        ends = each.vertex + arc * np.array([[1.0, 0.0], [math.cos(angle), math.sin(angle)]])
        way = np.array([math.cos(slide * angle), math.sin(slide * angle)])
        half = np.array([0.5 * LETTER_WIDTH * len(text) * self.letter, 0.5 * self.letter])
        reach = arc + 0.6 * self.letter + float(np.abs(way) @ half)
        return each.vertex + reach * way, 0.0, ends

    def _rim(self, each: Round, text: str, angle: float, reach: float) -> tuple[Floats, float, Floats]:
        way = np.array([math.cos(angle), math.sin(angle)])
        far = each.centre + way * (each.radius + reach * self.letter)
        half = 0.5 * LETTER_WIDTH * len(text) * self.letter
        # Beside the leader's end, or above or below it where it is upright.
        side = np.sign(round(way[0], 6)) * np.array([half + 0.4 * self.letter, 0.0])
        beyond = side if side[0] else way * self.letter
        return far + beyond, 0.0, np.array([each.centre, far])

    def _spots(self, at: Floats, text: str, turn: float) -> Floats:
        """Points along the letters, a letter's height apart at most."""
        half = 0.5 * LETTER_WIDTH * max(len(text) - 1, 1) * self.letter
        along = np.linspace(-half, half, max(2, 1 + math.ceil(2.0 * half / (0.7 * self.letter))))
        return np.asarray(at + along[:, None] * np.array([math.cos(turn), math.sin(turn)]))

    def _price(self, placed: Placed) -> float:
        spots = self._spots(placed.at, placed.text, placed.turn_rad)
        line = dense(dimension_line(placed), 0.4 * self.letter)
        # A line over another dimension's reads as the same; a crossing is a point or two.
        over = float(np.sum(near(line, self._dimensions, 0.5 * self.letter)))
        covered = float(np.sum(near(line, self._letters, 0.8 * self.letter)))
        long = 0.03 * len(line) if isinstance(placed.dimension, Elevation) else 0.0
        if isinstance(placed.dimension, Round):
            # The leader beyond the rim crosses as few parts as can be.
            beyond = line[
                np.hypot(*(line - placed.dimension.centre).T) > placed.dimension.radius + self.letter
            ]
            over += float(np.sum(near(beyond, self._lines, 0.3 * self.letter)))
        return self._hidden(spots) + 8.0 * covered + 0.5 * over + long

    def _hidden(self, spots: Floats) -> float:
        letters = np.sum(near(spots, self._letters, 1.35 * self.letter))
        lines = np.sum(near(spots, self._lines, 0.7 * self.letter))
        return 30.0 * float(letters) + 3.0 * float(lines)
