"""Uniform cubic B-splines along the travel, and the penalties that keep them smooth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from feltload.core import Floats


@dataclass(frozen=True)
class SplineBasis:
    """Cubic B-splines on equal intervals.

    Attributes
    ----------
    low, high : float
        Range covered.
    intervals : int
        Number of equal intervals; the basis has ``intervals + 3`` functions.

    References
    ----------
    Eilers & Marx (1996), Flexible smoothing with B-splines and penalties, doi:10.1214/ss/1038425655.
    """

    low: float
    high: float
    intervals: int

    @property
    def size(self) -> int:
        """Number of basis functions."""
        return self.intervals + 3

    @property
    def step(self) -> float:
        """Width of one interval."""
        return (self.high - self.low) / self.intervals

    def sparse(
        self, x: Floats, factor: Floats | None = None, *, derivative: int = 0
    ) -> scipy.sparse.csr_array:
        """Basis (or its first derivative) at `x`, rows times `factor`; shape (n, size), four per row.

        Outside the range the first or last polynomial piece goes on.
        """
        u = (np.asarray(x, float) - self.low) / self.step
        cell = np.clip(np.floor(u).astype(np.int64), 0, self.intervals - 1)
        t = u - cell
        if derivative == 0:
            values = (
                np.stack(
                    [
                        (1 - t) ** 3,
                        3 * t**3 - 6 * t**2 + 4,
                        -3 * t**3 + 3 * t**2 + 3 * t + 1,
                        t**3,
                    ],
                    axis=1,
                )
                / 6.0
            )
        elif derivative == 1:
            values = np.stack([-((1 - t) ** 2), 3 * t**2 - 4 * t, -3 * t**2 + 2 * t + 1, t**2], axis=1) / (
                2.0 * self.step
            )
        else:
            raise ValueError("derivative must be 0 or 1")
        if factor is not None:
            values = values * np.asarray(factor, float)[:, None]
        columns = cell[:, None] + np.arange(4)[None, :]
        rows = np.arange(0, 4 * u.size + 1, 4)
        return scipy.sparse.csr_array((values.ravel(), columns.ravel(), rows), shape=(u.size, self.size))

    def dense(self, x: Floats, *, derivative: int = 0) -> Floats:
        """Basis at a few points as a full matrix, shape (n, size)."""
        return np.asarray(self.sparse(x, derivative=derivative).toarray())

    def roughness(self, order: int) -> Floats:
        """Penalty matrix of squared differences of the given order, shape (size, size)."""
        difference = np.diff(np.eye(self.size), n=order, axis=0)
        return np.asarray(difference.T @ difference)


def basis_over(low: float, high: float, spacing: float, *, at_least: int, at_most: int) -> SplineBasis:
    """Basis over a range with intervals of about `spacing`."""
    intervals = int(np.clip(np.ceil((high - low) / spacing), at_least, at_most))
    return SplineBasis(low, high, intervals)
