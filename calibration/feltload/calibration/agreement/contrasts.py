"""One verdict over a whole curve whose points are correlated.

The difference d between measured and predicted force has covariance S (measurement and survey together). It is
looked at through a family of linear contrasts: every single point, and the shape in which each surveyed dimension
would bend the curve. Each contrast is divided by its own standard deviation; the largest is judged against the
distribution of the same maximum for d ~ N(0, S), drawn by simulation. The false-alarm rate is the level stated,
whatever the correlation; no inverse of S has to be trusted for that.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.core import Floats, covariance_root

LEVEL: Final = 0.05
"""Part of right surveys that is called wrong."""
MODEL_FORM: Final = 5e-4
"""Part of the peak that no machine of points and lines is trusted below when shapes are weighed."""
_DRAWS: Final = 4000
_LARGEST_SET: Final = 3
_TRIED_PER_SIZE: Final = 6
_AS_GOOD: Final = 3.84
"""Evidence that does not part two causes: chi-squared, one degree of freedom, 95 %."""
_BLUNDER_U: Final = 4.0
"""Spread of a blunder in standard uncertainties: one of many is rarer than one of a few. Where two dimensions bend the
curve alike, it decides for the one that would have to be less wrong."""
_LEFT_OVER_LEVEL: Final = 0.01
"""A cause is enough unless what it leaves would come by chance this seldom."""


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


@dataclass(frozen=True)
class Cause:
    """A set of dimensions whose change explains the difference.

    Attributes
    ----------
    indices : tuple of int
        Columns of the shape matrix.
    shifts : ndarray
        Change of each, in units of the columns.
    evidence : float
        Twice the log odds of this blunder against none.
    test : ContrastTest
        What is left, tested again.
    """

    indices: tuple[int, ...]
    shifts: Floats
    evidence: float
    test: ContrastTest


class Contrasts:
    """Tests of a difference along a curve, and the search for its cause.

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
    least : ndarray, shape (p,), optional
        Size of a shift, in units of its column, below which it is no plausible cause.
    lowest, highest : ndarray, shape (p,), optional
        Shifts below and above which it is none.
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
        least: Floats | None = None,
        lowest: Floats | None = None,
        highest: Floats | None = None,
        seed: int = 1,
    ) -> None:
        self._difference = difference
        self._shapes = shapes
        self._least = np.zeros(shapes.shape[1]) if least is None else least
        self._lowest = np.full(shapes.shape[1], -np.inf) if lowest is None else lowest
        self._highest = np.full(shapes.shape[1], np.inf) if highest is None else highest
        values, vectors = np.linalg.eigh(covariance)
        weigher = (vectors / (np.clip(values, 0.0, None) + (MODEL_FORM * peak_n) ** 2)) @ vectors.T
        self._weighted = weigher @ shapes
        self._information = shapes.T @ self._weighted
        self._contrasts = np.vstack([np.eye(difference.size), self._weighted.T])
        self._root = covariance_root(covariance)
        self._draws = self._root @ np.random.default_rng(seed).standard_normal((difference.size, _DRAWS))

    @property
    def determinable(self) -> tuple[int, ...]:
        """Columns that bend the curve at all."""
        size = np.diag(self._information)
        return tuple(int(i) for i in np.flatnonzero(size > 1e-6 * max(float(size.max(initial=0.0)), 1e-12)))

    def test(self, free: Sequence[int] = ()) -> ContrastTest:
        """Test the difference after the best change of the `free` dimensions is taken out."""
        contrasts = self._contrasts
        if free:
            chosen = list(free)
            contrasts = contrasts - (contrasts @ self._shapes[:, chosen]) @ self._solve(
                chosen, self._weighted[:, chosen].T
            )
        spread = np.linalg.norm(contrasts @ self._root, axis=1)
        before = np.linalg.norm(self._contrasts @ self._root, axis=1)
        usable = spread > 1e-6 * np.maximum(before, 1e-300)
        usable &= spread > 0.0
        if not usable.any():
            return ContrastTest(0.0, np.inf, 1.0)
        scaled = contrasts[usable] / spread[usable, None]
        sizes = np.abs(scaled @ self._difference)
        at = int(np.flatnonzero(usable)[np.argmax(sizes)]) - self._difference.size
        largest = float(sizes.max())
        simulated = np.abs(scaled @ self._draws).max(axis=0)
        return ContrastTest(
            largest,
            float(np.quantile(simulated, 1.0 - LEVEL)),
            float((1 + np.count_nonzero(simulated >= largest)) / (1 + simulated.size)),
            at if at >= 0 else None,
        )

    def causes(self) -> tuple[list[Cause], bool]:
        """Smallest sets of plausible changes that explain the difference, best first.

        Returns
        -------
        causes : list of Cause
            Sets of the smallest size that leaves nothing significant, as good as the best of them; or, if no set
            of up to three dimensions does, the single best-fitting set.
        explained : bool
            Whether they leave nothing significant.
        """
        best: Cause | None = None
        for size in range(1, min(_LARGEST_SET, len(self.determinable)) + 1):
            fits = (self._fit(chosen) for chosen in itertools.combinations(self.determinable, size))
            ranked = sorted((fit for fit in fits if self._plausible(*fit[:2])), key=lambda c: -c[2])[
                :_TRIED_PER_SIZE
            ]
            tried = [Cause(i, shift, evidence, self.test(i)) for i, shift, evidence in ranked]
            enough = [c for c in tried if c.test.p_value > _LEFT_OVER_LEVEL]
            if enough:
                return [c for c in enough if c.evidence > enough[0].evidence - _AS_GOOD], True
            best = tried[0] if tried else best
        return ([best] if best else []), False

    def _fit(self, chosen: tuple[int, ...]) -> tuple[tuple[int, ...], Floats, float]:
        score = self._weighted[:, list(chosen)].T @ self._difference
        shifts = self._solve(list(chosen), score)
        block = self._information[np.ix_(chosen, chosen)]
        identity = np.eye(len(chosen))
        gain = float(score @ np.linalg.solve(block + identity / _BLUNDER_U**2, score))
        return chosen, shifts, gain - float(np.linalg.slogdet(identity + block * _BLUNDER_U**2)[1])

    def _plausible(self, chosen: tuple[int, ...], shifts: Floats) -> bool:
        columns = list(chosen)
        inside = (shifts >= self._lowest[columns]) & (shifts <= self._highest[columns])
        return bool(np.all(inside & (np.abs(shifts) >= self._least[columns])))

    def _solve(self, chosen: list[int], right: Floats) -> Floats:
        block = self._information[np.ix_(chosen, chosen)]
        # Two dimensions with the same shape make the block singular: the least change of both then counts.
        return np.asarray(np.linalg.pinv(block, rcond=1e-9, hermitian=True) @ right)
