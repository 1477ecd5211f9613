"""The same variance components by a mixed model: restricted maximum likelihood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.components import RESIDUAL
from feltload.core import Floats

WIDEST_LOG_RATIO = 14.0
NEGLIGIBLE = 1e-5
"""A variance this small a part of the residual is at its lower end, zero."""
STARTS = (0.0, -4.0, 4.0)


@dataclass(frozen=True)
class MixedModel:
    """Variances by term, the residual last, and the mean that was fitted with its standard error."""

    variances: Mapping[str, float]
    mean: float
    mean_u: float


def mixed_model(values: ArrayLike, terms: Mapping[str, ArrayLike]) -> MixedModel:
    """Variance components by restricted maximum likelihood; a component is never below zero.

    Parameters
    ----------
    values : array_like, shape (n,)
    terms : mapping of str to array_like, each shape (n,)
        Group labels of each random term.

    Raises
    ------
    CoachingError
        The values do not scatter, or no maximum was found.

    Notes
    -----
    Patterson & Thompson (1971), doi:10.1093/biomet/58.3.545. The likelihood is that of the ratios of the variances to
    the residual's, kept at zero or above; general mixed-model software stops where one of them is zero, which in
    small studies is common.
    """
    from scipy.optimize import minimize

    y = np.asarray(values, dtype=float)
    if not np.ptp(y) > 0.0:
        raise CoachingError("the values do not scatter")
    alike = [_alike(np.asarray(labels)) for labels in terms.values()]
    likelihood = _Likelihood((y - y.mean()) / y.std(), alike)
    bounds = [(-WIDEST_LOG_RATIO, WIDEST_LOG_RATIO)] * len(alike)
    fits = [
        minimize(likelihood, np.full(len(alike), start), jac=True, method="L-BFGS-B", bounds=bounds)
        for start in STARTS
    ]
    best = min(fits, key=lambda fit: float(fit.fun))
    if not np.isfinite(best.fun):
        raise CoachingError("the mixed model found no maximum of its likelihood")
    ratios = np.exp(best.x)
    ratios[ratios < NEGLIGIBLE] = 0.0
    residual, mean, mean_u = likelihood.solved(ratios)
    size = float(y.std())
    variances = {name: float(ratio * residual) * size**2 for name, ratio in zip(terms, ratios, strict=True)}
    return MixedModel(
        {**variances, RESIDUAL: residual * size**2}, float(y.mean()) + size * mean, size * mean_u
    )


@dataclass(frozen=True)
class _Likelihood:
    """Minus twice the restricted log-likelihood of the log ratios, without its constant, and its gradient."""

    y: Floats
    alike: Sequence[Floats]

    def __call__(self, log_ratios: Floats) -> tuple[float, Floats]:
        ratios = np.exp(log_ratios)
        _, projected, log_determinants = self._parts(ratios)
        left = projected @ self.y
        squares, freedom = float(self.y @ left), self.y.size - 1
        slope = [
            float((projected * each).sum()) - freedom * float(left @ each @ left) / squares
            for each in self.alike
        ]
        return freedom * float(np.log(squares)) + log_determinants, np.asarray(slope) * ratios

    def solved(self, ratios: Floats) -> tuple[float, float, float]:
        """Residual variance, mean and its standard error."""
        inverse, projected, _ = self._parts(ratios)
        residual = float(self.y @ projected @ self.y) / (self.y.size - 1)
        weight = float(inverse.sum())
        return residual, float((inverse @ self.y).sum()) / weight, float(np.sqrt(residual / weight))

    def _parts(self, ratios: Floats) -> tuple[Floats, Floats, float]:
        covariance = np.eye(self.y.size)
        for ratio, each in zip(ratios, self.alike, strict=True):
            covariance += ratio * each
        inverse = np.asarray(np.linalg.inv(covariance), dtype=float)
        sums = inverse.sum(axis=1)
        log_determinants = float(np.linalg.slogdet(covariance)[1] + np.log(sums.sum()))
        projected = np.asarray(inverse - np.outer(sums, sums) / sums.sum(), dtype=float)
        return inverse, projected, log_determinants


def _alike(labels: np.ndarray) -> Floats:
    """1 where two values are of one group, shape (n, n)."""
    return np.asarray(labels[:, None] == labels[None, :], dtype=float)
