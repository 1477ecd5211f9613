"""Change against measurement noise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import CoachingError
from feltload.core import NORMAL_COVERAGE_95


@dataclass(frozen=True)
class Repeatability:
    """How much a value wanders when nothing has changed.

    Attributes
    ----------
    sem : float
        Standard error of measurement, in the value's unit.
    degrees_of_freedom : int
        Of `sem`.
    """

    sem: float
    degrees_of_freedom: int

    @property
    def minimal_difference(self) -> float:
        """Difference of two single values that 95 % of unchanged pairs stay under."""
        return minimal_difference(self.sem)


def minimal_difference(sem: float) -> float:
    """``1.96 * sqrt(2) * SEM``.

    Weir, J. P. (2005), Quantifying test-retest reliability using the intraclass correlation coefficient and the
    SEM, J Strength Cond Res 19(1):231-240.
    """
    return NORMAL_COVERAGE_95 * float(np.sqrt(2.0)) * sem


def repeatability(trials: Sequence[Sequence[float]]) -> Repeatability:
    """Standard error of measurement from repeated values, and the minimal difference.

    Parameters
    ----------
    trials : sequence of sequences
        One row a subject or position, its repeated values within; rows may differ in length. The spread within
        rows, pooled, is the square root of the error mean square of a one-way analysis of variance.

    Raises
    ------
    CoachingError
        When nothing was repeated.
    """
    groups = [np.asarray(row, dtype=float) for row in trials if len(row) > 1]
    freedom = sum(len(group) - 1 for group in groups)
    if freedom < 1:
        raise CoachingError("nothing was measured twice", remedy="repeat at least one measurement")
    squares = sum(float(((group - group.mean()) ** 2).sum()) for group in groups)
    return Repeatability(float(np.sqrt(squares / freedom)), freedom)
