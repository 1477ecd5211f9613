"""What was observed, in the normal equations: accelerometer, rests, and places to which the arm comes back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feltload.core import Floats
from feltload.signal.hinge.smoother.knots import STATES, Shares
from feltload.signal.hinge.smoother.model import GLOBALS, MOVED, SCALE, Linearised


@dataclass(frozen=True)
class Observed:
    """Parts of the normal equations that are added up in place.

    Attributes
    ----------
    diagonal : ndarray, shape (k, 4, 4)
    beside : ndarray, shape (k - 1, 4, 4)
        From each knot to the next.
    border : ndarray, shape (k, 4, 22)
    corner : ndarray, shape (22, 22)
    right : ndarray, shape (k, 4)
    right_corner : ndarray, shape (22,)
    """

    diagonal: Floats
    beside: Floats
    border: Floats
    corner: Floats
    right: Floats
    right_corner: Floats

    @classmethod
    def nothing(cls, knots: int) -> Observed:
        return cls(
            np.zeros((knots, STATES, STATES)),
            np.zeros((knots - 1, STATES, STATES)),
            np.zeros((knots, STATES, GLOBALS)),
            np.zeros((GLOBALS, GLOBALS)),
            np.zeros((knots, STATES)),
            np.zeros(GLOBALS),
        )

    def add_equations(self, lin: Linearised, weight: Floats, shares: Shares) -> None:
        """The accelerometer's equations: what moves each is a mix of two knots."""
        count = len(self.right)
        gram = lin.between_states(weight)
        for row, i in enumerate(MOVED):
            for column, j in enumerate(MOVED[: row + 1]):
                on_knots, between = shares.gram(gram[:, row, column], count)
                self.diagonal[:, i, j] += on_knots
                self.beside[:, i, j] += between
                if i != j:
                    self.diagonal[:, j, i] += on_knots
                    self.beside[:, j, i] += between
        products = lin.against_states(weight)
        gathered = shares.gather(products.reshape(len(products), -1), count).reshape(count, len(MOVED), -1)
        self.right[:, MOVED] += gathered[:, :, GLOBALS]
        self.border[:, MOVED] += gathered[:, :, :GLOBALS]
        corner, right = lin.against_unknowns(weight)
        self.corner[...] += corner
        self.right_corner[...] += right

    def add_rests(
        self, still: NDArray[np.intp], information: Floats, error: Floats, by_scale: Floats
    ) -> None:
        """The rate at knots where the arm rests."""
        self.diagonal[still, 1, 1] += information
        self.right[still, 1] -= information * error
        self.border[still, 1, SCALE] += information * by_scale
        self.corner[SCALE, SCALE] += float(np.sum(information * by_scale**2))
        self.right_corner[SCALE] -= float(np.sum(information * by_scale * error))

    def add_places(self, information: Floats, error: Floats, by_unknown: Floats, shares: Shares) -> None:
        """The angle where the arm comes back to: `error` is the level less the angle."""
        count = len(self.right)
        on_knots, between = shares.gram(information, count)
        self.diagonal[:, 0, 0] += on_knots
        self.beside[:, 0, 0] += between
        gathered = shares.gather(np.column_stack([by_unknown, error]) * information[:, None], count)
        self.border[:, 0] += gathered[:, :GLOBALS]
        self.right[:, 0] += gathered[:, GLOBALS]
        self.corner[...] += (by_unknown.T * information) @ by_unknown
        self.right_corner[...] += (by_unknown.T * information) @ error
