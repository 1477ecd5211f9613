"""One verdict over a whole curve whose points are correlated.

The difference d between measured and predicted force has covariance S (measurement and survey together). It is
looked at through a family of linear contrasts: every single point, and the shape in which each surveyed dimension
would bend the curve. Each contrast is divided by its own standard deviation; the largest is judged against the
distribution of the same maximum for d ~ N(0, S), drawn by simulation. The false-alarm rate is the level stated,
whatever the correlation; no inverse of S has to be trusted for that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.core import Floats, covariance_root

LEVEL: Final = 0.05
"""Part of right surveys that is called wrong."""
MODEL_FORM: Final = 5e-4
"""Part of the peak that no machine of points and lines is trusted below when shapes are weighed."""
_DRAWS: Final = 4000
_ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class ContrastTest:
    """Result of one simultaneous test.

    Attributes
    ----------
    largest : float
        Largest standardised contrast.
    critical : float
        What it may reach in 95 % of cases when nothing is wrong.
    p_value : float
        How often it gets that large by chance.
    shape : int or None
        Column of the shape along which it is largest; None where a single point is.
    """

    largest: float
    critical: float
    p_value: float
    shape: int | None = None

    @property
    def score(self) -> float:
        """The largest contrast in units of what chance alone reaches in 5 % of cases."""
        return self.largest / self.critical

    @property
    def differs(self) -> bool:
        """Whether it is more than that; the one statistic that decides."""
        return self.score > 1.0


class Contrasts:
    """Tests of a difference along a curve.

    Parameters
    ----------
    difference : ndarray, shape (k,)
        Measured minus predicted, N.
    covariance : ndarray, shape (k, k)
        Of the difference, N².
    shapes : ndarray, shape (k, p)
        Change of the prediction per standard uncertainty of each dimension, N.
    peak_n : float
        Largest measured force, for the floor below which shapes are not weighed.
    seed : int
        Of the simulation.
    """

    def __init__(
        self,
        difference: Floats,
        covariance: Floats,
        shapes: Floats,
        peak_n: float,
        *,
        seed: int = 1,
    ) -> None:
        self.difference = difference
        values, vectors = np.linalg.eigh(covariance)
        self.weigher = (vectors / (np.clip(values, 0.0, None) + (MODEL_FORM * peak_n) ** 2)) @ vectors.T
        # What only rounding gives a shape would be weighed as the roughest curve there is.
        size = np.linalg.norm(shapes, axis=0)
        bending = shapes * (size > _ROUNDING * max(float(size.max(initial=0.0)), peak_n))
        self._contrasts = np.vstack([np.eye(difference.size), (self.weigher @ bending).T])
        self._root = covariance_root(covariance)
        self._draws = self._root @ np.random.default_rng(seed).standard_normal((difference.size, _DRAWS))

    def test(self, free_n: Floats | None = None, difference: Floats | None = None) -> ContrastTest:
        """Test a difference, the given one unless another is left, after the best sum of columns `free_n` (k, f)."""
        contrasts = self._contrasts
        left = self.difference if difference is None else difference
        if free_n is not None and free_n.size:
            weighted = self.weigher @ free_n
            # Two columns of the same shape make the block singular: the least change of both then counts.
            inverse = np.linalg.pinv(free_n.T @ weighted, rcond=1e-9, hermitian=True)
            contrasts = contrasts - (contrasts @ free_n) @ inverse @ weighted.T
        spread = np.linalg.norm(contrasts @ self._root, axis=1)
        before = np.linalg.norm(self._contrasts @ self._root, axis=1)
        usable = spread > 1e-6 * np.maximum(before, 1e-300)
        usable &= spread > 0.0
        if not usable.any():
            return ContrastTest(0.0, np.inf, 1.0)
        scaled = contrasts[usable] / spread[usable, None]
        sizes = np.abs(scaled @ left)
        at = int(np.flatnonzero(usable)[np.argmax(sizes)]) - left.size
        largest = float(sizes.max())
        simulated = np.abs(scaled @ self._draws).max(axis=0)
        return ContrastTest(
            largest,
            float(np.quantile(simulated, 1.0 - LEVEL)),
            float((1 + np.count_nonzero(simulated >= largest)) / (1 + simulated.size)),
            at if at >= 0 else None,
        )

    def misfit(self, difference: Floats) -> float:
        """Weighted sum of squares of a difference, the chi-squared of one that is all noise."""
        return float(difference @ self.weigher @ difference)
