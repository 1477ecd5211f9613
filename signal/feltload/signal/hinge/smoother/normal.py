"""Normal equations banded in the knots and bordered by a few global unknowns: solved and inverted in linear time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy

from feltload.core import Floats
from feltload.signal.errors import MotionError
from feltload.signal.hinge.smoother.knots import STATES


@dataclass(frozen=True)
class Normal:
    """Bordered normal equations: `banded` (8, 4k) upper, `border` (4k, g), `corner` (g, g)."""

    banded: Floats
    border: Floats
    corner: Floats
    right: Floats
    right_corner: Floats

    @classmethod
    def of(
        cls,
        diagonal: Floats,
        beside: Floats,
        border: Floats,
        corner: Floats,
        right: Floats,
        right_corner: Floats,
    ) -> Normal:
        """From blocks: diagonal (k, 4, 4), beside it (k - 1, 4, 4), border (k, 4, g), right-hand side (k, 4)."""
        size = STATES
        banded = np.zeros((2 * size, size * len(diagonal)))
        for row in range(size):
            for column in range(row, size):
                banded[2 * size - 1 + row - column, column::size] = diagonal[:, row, column]
            for column in range(size):
                banded[size - 1 + row - column, size + column :: size] = beside[:, row, column]
        return cls(banded, border.reshape(banded.shape[1], -1), corner, right.ravel(), right_corner)

    @cached_property
    def _factor(self) -> Floats:
        return np.asarray(scipy.linalg.cholesky_banded(self.banded))

    def band_solve(self, right: Floats) -> Floats:
        """Solution of the banded part alone."""
        return np.asarray(scipy.linalg.cho_solve_banded((self._factor, False), right))

    @cached_property
    def _solved(self) -> tuple[Floats, Floats, Floats]:
        """Border and right-hand side solved by the band, and the inverse of the Schur complement."""
        try:
            both = self.band_solve(np.column_stack([self.border, self.right]))
            solved, plain = both[:, :-1], both[:, -1]
            schur = self.corner - self.border.T @ solved
            # Unknowns differ in scale by powers of ten: balance before inverting.
            size = np.sqrt(np.abs(np.diag(schur)))
            inverse = np.linalg.inv(schur / np.outer(size, size)) / np.outer(size, size)
        except np.linalg.LinAlgError:
            raise MotionError(
                "the inertial data do not determine the angle of one turning part",
                remedy="check times, axes and units of the inertial sensor",
            ) from None
        return solved, plain, inverse

    @property
    def border_solved(self) -> Floats:
        """The border solved by the band, shape (4k, g)."""
        return self._solved[0]

    @property
    def inverse(self) -> Floats:
        """Covariance of the global unknowns, shape (g, g)."""
        return self._solved[2]

    @property
    def log_size(self) -> float:
        """Logarithm of the determinant of the whole matrix."""
        band = 2.0 * float(np.sum(np.log(self._factor[-1])))
        return band - float(np.linalg.slogdet(self.inverse)[1])

    def solve_for(self, right: Floats, right_corner: Floats) -> tuple[Floats, Floats]:
        """Solutions for other right-hand sides, (4k, d) and (g, d)."""
        solved, _, inverse = self._solved
        plain = self.band_solve(right)
        corner = inverse @ (right_corner - self.border.T @ plain)
        return plain - solved @ corner, corner

    def solve(self) -> tuple[Floats, Floats]:
        """Steps of the knots (4k,) and of the global unknowns (g,)."""
        solved, plain, inverse = self._solved
        corner = inverse @ (self.right_corner - self.border.T @ plain)
        return plain - solved @ corner, corner


def drift_variance(normal: Normal) -> Floats:
    """Variance of the drift at each knot with the global unknowns held, (k,), by a forward and a backward sweep."""
    size, banded = STATES, normal.banded
    count = banded.shape[1] // size
    diagonal, beside = np.empty((count, size, size)), np.empty((count - 1, size, size))
    for row in range(size):
        for column in range(size):
            low, high = min(row, column), max(row, column)
            diagonal[:, row, column] = banded[2 * size - 1 + low - high, high::size]
            beside[:, row, column] = banded[size - 1 + row - column, size + column :: size]
    inverses, gains = [], []
    block = diagonal[0]
    for k in range(count - 1):
        inverse = np.linalg.inv(block)
        gain = inverse @ beside[k]
        inverses.append(inverse)
        gains.append(gain)
        block = diagonal[k + 1] - beside[k].T @ gain
    covariance = np.linalg.inv(block)
    out = [covariance[0, 0]]
    for inverse, gain in zip(reversed(inverses), reversed(gains), strict=True):
        covariance = inverse + gain @ covariance @ gain.T
        out.append(covariance[0, 0])
    return np.array(out[::-1])
