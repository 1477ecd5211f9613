"""Change against measurement noise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import CoachingError


@dataclass(frozen=True)
class Repeatability:
    """How much a value wanders when nothing has changed.

    Attributes
    ----------
    sem : float
        Standard error of measurement, in the value's unit.
    minimal_difference : float
        Smallest difference of two single values that 95 % of unchanged pairs stay under.
    degrees : int
        Degrees of freedom of `sem`.
    """

    sem: float
    minimal_difference: float
    degrees: int


def minimal_difference(sem: float) -> float:
    """``1.96 * sqrt(2) * SEM``.

    Weir, J. P. (2005), Quantifying test-retest reliability using the intraclass correlation coefficient and the
    SEM, J Strength Cond Res 19(1):231-240.
    """
    return 1.96 * float(np.sqrt(2.0)) * sem


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
    degrees = sum(len(g) - 1 for g in groups)
    if degrees < 1:
        raise CoachingError("nothing was measured twice", remedy="repeat at least one measurement")
    squares = sum(float(((g - g.mean()) ** 2).sum()) for g in groups)
    sem = float(np.sqrt(squares / degrees))
    return Repeatability(sem, minimal_difference(sem), degrees)


def change_in_words(before: float, after: float, limit: float, *, what: str, unit: str) -> str:
    """One sentence: whether a change is larger than measurement noise. Never a medical claim."""
    change = after - before
    size = f"{abs(change):.0f} {unit}"
    if abs(change) <= limit:
        return f"{what}: {size} {'more' if change >= 0 else 'less'}, within measurement noise (±{limit:.0f} {unit})."
    return (
        f"{what}: {size} {'more' if change > 0 else 'less'}, beyond measurement noise (±{limit:.0f} {unit})."
    )
