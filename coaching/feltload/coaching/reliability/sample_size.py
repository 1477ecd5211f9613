"""How much to measure for what is wanted of a study."""

from __future__ import annotations

import math

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.change import minimal_difference
from feltload.core import NORMAL_COVERAGE_95

EXACTLY = 1e-9


def measurements_to_average(sem: float, wanted: float) -> int:
    """Whole measurements whose mean has a minimal difference no larger than wanted.

    Parameters
    ----------
    sem : float
        Standard error of one measurement.
    wanted : float
        Minimal difference, in the same unit.

    Raises
    ------
    CoachingError
        `wanted` is not above zero.

    Notes
    -----
    The standard error of the mean of m independent measurements is ``SEM / sqrt(m)`` (Weir 2005), so each must repeat
    all that differs between measurements: mounting, day, person.
    """
    if not wanted > 0.0:
        raise CoachingError("a minimal difference must be above zero")
    return max(1, math.ceil((minimal_difference(sem) / wanted) ** 2 - EXACTLY))


def targets_for_correlation(expected: float, width: float, measurements: int) -> int:
    """Targets for an intraclass correlation whose 95 % confidence interval is no wider than wanted.

    Parameters
    ----------
    expected : float
        Correlation that is expected, 0 to 1.
    width : float
        From limit to limit.
    measurements : int
        Of each target, two or more.

    Raises
    ------
    CoachingError
        Values outside these ranges.

    Notes
    -----
    Formula of Bonett (2002), Sample size requirements for estimating intraclass correlations with desired precision,
    Stat Med 21(9):1331-1335, doi:10.1002/sim.1108, with his correction for two measurements and a correlation of 0.7
    or more. It is an approximation for the forms of single values without a common shift.
    """
    if not 0.0 < expected < 1.0 or not 0.0 < width < 1.0 or measurements < 2:
        raise CoachingError(
            "a correlation and the width of its interval lie between 0 and 1, and a target is measured twice or more"
        )
    k = measurements
    spread = (1.0 - expected) * (1.0 + (k - 1) * expected)
    targets = 8.0 * NORMAL_COVERAGE_95**2 * spread**2 / (k * (k - 1) * width**2) + 1.0
    if k == 2 and expected >= 0.7:
        targets += 5.0 * expected
    return math.ceil(targets - EXACTLY)
