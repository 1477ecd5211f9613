"""Analysis of variance of a complete table: targets measured the same number of times."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from feltload.coaching.errors import CoachingError
from feltload.core import Floats

SAME_SHARE = 1e-12
"""A scatter below this part of the values' size is rounding."""


@dataclass(frozen=True)
class MeanSquares:
    """Mean squares of a table of targets (rows) and occasions (columns), one value a cell.

    Attributes
    ----------
    targets, occasions : int
    between : float
        Of targets; ``targets - 1`` degrees of freedom.
    within : float
        Within targets; ``targets * (occasions - 1)``.
    occasion : float
        Of occasions; ``occasions - 1``.
    error : float
        What remains; ``(targets - 1) * (occasions - 1)``.
    mean : float
        Of all values.
    """

    targets: int
    occasions: int
    between: float
    within: float
    occasion: float
    error: float
    mean: float


def mean_squares(values: ArrayLike) -> MeanSquares:
    """Mean squares of a complete table.

    Parameters
    ----------
    values : array_like, shape (targets, occasions)

    Raises
    ------
    CoachingError
        For fewer than two rows or columns, or a missing value.
    """
    table = np.asarray(values, dtype=float)
    if table.ndim != 2 or min(table.shape) < 2 or not np.isfinite(table).all():
        raise CoachingError(
            "an analysis of variance needs two targets or more, each measured on the same two occasions or more"
        )
    n, k = table.shape
    mean = float(table.mean())
    by_target, by_occasion = table.mean(axis=1, keepdims=True), table.mean(axis=0, keepdims=True)
    noise = (SAME_SHARE * float(np.abs(table).max())) ** 2
    return MeanSquares(
        targets=n,
        occasions=k,
        between=_clean(k * _squares(by_target - mean) / (n - 1), noise),
        within=_clean(_squares(table - by_target) / (n * (k - 1)), noise),
        occasion=_clean(n * _squares(by_occasion - mean) / (k - 1), noise),
        error=_clean(_squares(table - by_target - by_occasion + mean) / ((n - 1) * (k - 1)), noise),
        mean=mean,
    )


def _squares(values: Floats) -> float:
    return float((values**2).sum())


def _clean(mean_square: float, noise: float) -> float:
    """The mean square, or zero where it is rounding."""
    return mean_square if mean_square > noise else 0.0
