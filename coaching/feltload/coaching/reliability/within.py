"""Scatter of repeated values: standard error of measurement, minimal difference, coefficient of variation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.change import minimal_difference, repeatability


@dataclass(frozen=True)
class Estimate:
    """A value with the limits of its 95 % confidence interval."""

    value: float
    lower: float
    upper: float

    def said(self, unit: str = "") -> str:
        """``2.1 (1.8 to 2.6) N``, with the limits in brackets."""
        if not np.isfinite([self.lower, self.upper]).all():
            return f"{self.value:.3g} {unit}".strip() + " (limits not known)"
        return f"{self.value:.3g} ({self.lower:.3g} to {self.upper:.3g}) {unit}".strip().replace("-", "−")

    def scaled(self, factor: float) -> Estimate:
        """All three times a factor above zero."""
        return Estimate(factor * self.value, factor * self.lower, factor * self.upper)


def in_unit(unit: str) -> str:
    """The unit for the label of an axis, or that it is that of the values."""
    return unit or "in the unit of the values"


@dataclass(frozen=True)
class WithinScatter:
    """Scatter of values of the same target, pooled over targets.

    Attributes
    ----------
    sem : Estimate
        Standard error of measurement: the standard deviation within targets. What differs between occasions for all
        targets alike counts as error.
    degrees_of_freedom : int
    mean : float
        Of all values.
    """

    sem: Estimate
    degrees_of_freedom: int
    mean: float

    @property
    def minimal_difference(self) -> Estimate:
        """Difference of two single values that 95 % of unchanged pairs stay under."""
        return self.sem.scaled(minimal_difference(1.0))

    @property
    def cv_percent(self) -> Estimate:
        """Standard error of measurement in percent of the mean, which must be above zero."""
        return self.sem.scaled(100.0 / self.mean)


def within_scatter(trials: Sequence[Sequence[float]]) -> WithinScatter:
    """Scatter within targets.

    Parameters
    ----------
    trials : sequence of sequences
        One a target, its repeated values within; they may differ in length.

    Raises
    ------
    CoachingError
        When nothing was repeated.

    Notes
    -----
    The limits are those of a standard deviation of normal values (chi-squared).
    """
    found = repeatability(trials)
    mean = float(np.mean(np.concatenate([np.asarray(each, dtype=float) for each in trials])))
    return WithinScatter(_with_limits(found.sem, found.degrees_of_freedom), found.degrees_of_freedom, mean)


def log_cv_percent(trials: Sequence[Sequence[float]]) -> Estimate:
    """Coefficient of variation within targets from logarithms, for scatter that grows with the value.

    Parameters
    ----------
    trials : sequence of sequences
        As `within_scatter` takes them; all values above zero.

    Raises
    ------
    CoachingError
        When nothing was repeated, or a value is not above zero.

    Notes
    -----
    ``100 * sqrt(exp(s²) - 1)`` with s the standard deviation within targets of the natural logarithms: exact where
    these are normal.
    """
    rows = [np.asarray(each, dtype=float) for each in trials]
    if any((row <= 0.0).any() for row in rows):
        raise CoachingError("a value is not above zero, so it has no logarithm")
    found = repeatability([np.log(row).tolist() for row in rows])
    logs = _with_limits(found.sem, found.degrees_of_freedom)
    value, lower, upper = (
        100.0 * float(np.sqrt(np.expm1(each**2))) for each in (logs.value, logs.lower, logs.upper)
    )
    return Estimate(value, lower, upper)


def _with_limits(sd: float, freedom: int) -> Estimate:
    from scipy.stats import chi2

    low, high = (float(chi2.ppf(part, freedom)) for part in (0.025, 0.975))
    return Estimate(sd, sd * (freedom / high) ** 0.5, sd * (freedom / low) ** 0.5)
