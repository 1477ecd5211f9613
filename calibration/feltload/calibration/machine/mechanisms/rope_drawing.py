"""Where rope, pulleys, weight and handle of a straight pull are drawn: one pulley by the handle, the rest above it.

Only the radius, the directions and the travels are to scale; lengths of rope are as drawn.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.machine.mechanism import Stroke
from feltload.core import Floats

_HEAD_M: Final = 1.1
"""Height of the upper row of pulleys over the lower one."""
_HANG_M: Final = 1.0
"""Rope between the last pulley and the weight on the start stop."""
_REACH_M: Final = 0.35
"""Rope between the first pulley and the handle on the start stop."""
_BOX_M: Final = 0.09


@dataclass(frozen=True)
class RopeLayout:
    """Places in metres from the axle of the pulley nearest to the handle, on the start stop.

    Attributes
    ----------
    radius_m : float
        Of every pulley.
    fixed : int
        Fixed pulleys between weight and handle.
    strands : int
        Strands that carry the weight, or the handle.
    on_handle : bool
        Whether they carry the handle.
    direction_rad : float
        Elevation of the rope at the handle.
    """

    radius_m: float
    fixed: int
    strands: int
    on_handle: bool
    direction_rad: float

    @property
    def direction(self) -> Floats:
        """Unit vector of the rope at the handle."""
        return np.array([math.cos(self.direction_rad), math.sin(self.direction_rad)])

    @property
    def handle_m(self) -> Floats:
        """The handle on the start stop."""
        away = (_REACH_M + self.radius_m) * self.direction
        return away + self._aside(2.0 if self.on_handle else 1.0)

    @property
    def weight_m(self) -> Floats:
        """The weight's hook on the start stop."""
        side, last = self._side, self._axles[-1]
        middle = self.radius_m * (self.strands if not self.on_handle else 1.0)
        return np.asarray(last + np.array([side * middle, -_HANG_M]))

    def strokes(self, lifted_m: float, pulled_m: float) -> list[Stroke]:
        """Everything to draw, with the weight lifted and the handle pulled so far."""
        return [*self._fixed_strokes(), *self._weight_strokes(lifted_m), *self._handle_strokes(pulled_m)]

    @property
    def _side(self) -> float:
        """On which side of the last pulley the weight hangs: a single pulley turns as the sensor does."""
        return 1.0 if self.fixed == 1 else -1.0

    @property
    def _axles(self) -> list[Floats]:
        """Fixed pulleys from the handle to the weight."""
        gap = max(0.3, 6.0 * self.radius_m)
        upper = [np.array([-2.0 * self.radius_m - i * gap, _HEAD_M]) for i in range(self.fixed - 1)]
        return [np.zeros(2), *upper]

    def _aside(self, radii: float) -> Floats:
        """Where the rope leaves the first pulley, which turns counter-clockwise; `radii` from its axle."""
        along = self.direction
        return radii * self.radius_m * np.array([along[1], -along[0]])

    def _fixed_strokes(self) -> list[Stroke]:
        axles, radius = self._axles, self.radius_m
        strokes = [Stroke(axle[None, :], radius=radius, moving=False) for axle in axles]
        left, top = np.array([-radius, 0.0]), np.array([0.0, radius])
        if self.fixed > 1:
            strokes.append(Stroke(np.array([axles[0] + left, axles[1] - left])))
        strokes += [
            Stroke(np.array([one + top, next_one + top])) for one, next_one in itertools.pairwise(axles[1:])
        ]
        return strokes

    def _weight_strokes(self, lifted_m: float) -> list[Stroke]:
        radius, side, last = self.radius_m, self._side, self._axles[-1]
        hook = self.weight_m + np.array([0.0, lifted_m])
        box = hook + _BOX_M * np.array([[-1, -2], [1, -2], [1, 0], [-1, 0], [-1, -2]])
        strokes = [Stroke(box)]
        strands = 1 if self.on_handle else self.strands
        # Around the travelling pulleys the rope comes up again one diameter further out.
        low = hook[1] + (radius + 0.06 if strands > 1 else 0.0)
        for strand in range(strands):
            x = last[0] + side * radius * (1.0 + 2.0 * strand)
            strokes.append(Stroke(np.array([[x, low], [x, last[1]]])))
        for pair in range(strands // 2):
            strokes.append(
                Stroke(np.array([[last[0] + side * radius * (2.0 + 4.0 * pair), low]]), radius=radius)
            )
        for pair in range((strands - 1) // 2):
            axle = np.array([last[0] + side * radius * (4.0 + 4.0 * pair), last[1]])
            strokes.append(Stroke(axle[None, :], radius=radius, moving=False))
        if strands > 1:
            ends = last[0] + side * radius * np.array([1.0, 2.0 * strands - 1.0])
            strokes.append(Stroke(np.array([[ends[0], low], [hook[0], hook[1]], [ends[1], low]])))
        if strands % 2 == 0:
            strokes.append(_beam(np.array([ends[1], last[1]]), np.array([1.0, 0.0])))
        return strokes

    def _handle_strokes(self, pulled_m: float) -> list[Stroke]:
        hand = self.handle_m + pulled_m * self.direction
        if not self.on_handle:
            return [Stroke(np.array([self._aside(1.0), hand]))]
        away = float((hand - self._aside(2.0)) @ self.direction) * self.direction
        return [
            Stroke(np.array([self._aside(1.0), away + self._aside(1.0)])),
            Stroke(np.array([self._aside(3.0), away + self._aside(3.0)])),
            Stroke(hand[None, :], radius=self.radius_m),
            _beam(self._aside(3.0), self._aside(1.0) / self.radius_m),
        ]


def _beam(at: Floats, along: Floats) -> Stroke:
    """What the rope's dead end is tied to."""
    return Stroke(np.array([at - 0.06 * along, at + 0.06 * along]), moving=False)
