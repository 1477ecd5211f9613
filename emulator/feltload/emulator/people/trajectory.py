"""Smooth motion of one joint from polynomial pieces, with exact derivatives."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.polynomial import polynomial as poly

from feltload.core import Floats

# Quintic through position, rate and acceleration at both ends of a unit interval.
_QUINTIC = np.linalg.inv(
    np.array(
        [
            [1, 0, 0, 0, 0, 0],
            [0, 1, 0, 0, 0, 0],
            [0, 0, 2, 0, 0, 0],
            [1, 1, 1, 1, 1, 1],
            [0, 1, 2, 3, 4, 5],
            [0, 0, 2, 6, 12, 20],
        ],
        dtype=float,
    )
)
# x^3 (1-x)^3 leaves position, rate and acceleration at both ends alone; 64 makes its peak one.
_BUMP = 64.0 * poly.polymul([0, 0, 0, 1], poly.polypow([1, -1], 3))


@dataclass(frozen=True)
class Piece:
    """One polynomial piece; coefficients in ascending powers of (t - start_s) / duration_s."""

    start_s: float
    duration_s: float
    coefficients: Floats


@dataclass
class Track:
    """A signal joined from pieces, twice continuously differentiable by construction.

    Parameters
    ----------
    value, time_s : float
        Where the track starts, and where its end is while it grows.
    """

    value: float
    time_s: float = 0.0
    rate: float = 0.0
    pieces: list[Piece] = field(default_factory=list)

    def move(
        self,
        target: float,
        duration_s: float,
        *,
        end_rate: float = 0.0,
        early: float = 0.0,
        uneven: float = 0.0,
    ) -> None:
        """Add a piece that ends at `target` with `end_rate` and no acceleration.

        `early` (share of the distance) makes the first half faster; `uneven` slows the middle.
        """
        span = duration_s
        ends = np.array([self.value, self.rate * span, 0.0, target, end_rate * span, 0.0])
        distance = target - self.value
        shape = poly.polyadd(_QUINTIC @ ends, early * distance * _BUMP)
        shape = poly.polyadd(shape, uneven * distance * poly.polymul(_BUMP, [-1.0, 2.0]))
        self.pieces.append(Piece(self.time_s, span, np.asarray(shape, dtype=float)))
        self.value, self.rate, self.time_s = target, end_rate, self.time_s + span

    def hold(self, duration_s: float) -> None:
        """Stay where the track is."""
        self.pieces.append(Piece(self.time_s, duration_s, np.array([self.value])))
        self.rate, self.time_s = 0.0, self.time_s + duration_s

    def hold_until(self, time_s: float) -> None:
        """Stay until `time_s`; nothing to add if the track is already there."""
        if time_s > self.time_s + 1e-9:
            self.hold(time_s - self.time_s)

    def evaluate(self, time_s: Floats) -> tuple[Floats, Floats, Floats]:
        """Value and its first two derivatives at ascending times, each (n,)."""
        value = np.full(time_s.shape, self.value)
        rate, accel = np.zeros(time_s.shape), np.zeros(time_s.shape)
        starts = np.searchsorted(time_s, [piece.start_s for piece in self.pieces])
        stops = np.append(starts[1:], np.searchsorted(time_s, self.time_s))
        for piece, start, stop in zip(self.pieces, starts, stops, strict=True):
            x = (time_s[start:stop] - piece.start_s) / piece.duration_s
            first = poly.polyder(piece.coefficients)
            value[start:stop] = poly.polyval(x, piece.coefficients)
            rate[start:stop] = poly.polyval(x, first) / piece.duration_s
            accel[start:stop] = poly.polyval(x, poly.polyder(first)) / piece.duration_s**2
        return value, rate, accel
