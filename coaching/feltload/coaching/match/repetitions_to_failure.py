"""Repetitions that a demand allows, as a range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import CoachingError
from feltload.core import NORMAL_COVERAGE_95

# Beyond this both formulas leave the data they were drawn from. Common practice, no source.
TRUSTED_REPETITIONS = 15.0
# The lower end of an uncertain demand stays above this: neither formula has a value at nothing.
LEAST_DEMAND = 0.05


def epley(load_fraction: float) -> float:
    """Repetitions to failure at a fraction of the one-repetition maximum.

    From ``maximum = load * (1 + repetitions / 30)``: Epley, B. (1985), Poundage chart, Boyd Epley Workout.
    """
    _check(load_fraction)
    return max(0.0, 30.0 * (1.0 / load_fraction - 1.0))


def brzycki(load_fraction: float) -> float:
    """Repetitions to failure at a fraction of the one-repetition maximum.

    From ``maximum = load * 36 / (37 - repetitions)``: Brzycki, M. (1993), Strength testing: predicting a one-rep
    max from reps-to-fatigue, JOPERD 64(1):88-90, doi:10.1080/07303084.1993.10606684.
    """
    _check(load_fraction)
    return max(0.0, 37.0 - 36.0 * load_fraction)


def _check(load_fraction: float) -> None:
    if not np.isfinite(load_fraction) or load_fraction <= 0:
        raise CoachingError(
            f"a load fraction of {load_fraction:g} is not possible",
            remedy="give one above 0; with a load that moves the handle along by itself the client resists nothing",
        )


@dataclass(frozen=True)
class RepetitionRange:
    """Repetitions to failure as a range: both formulas, over the 95 % range of the demand.

    Demand is load over capacity at the limiting position; both formulas take it in place of load over
    one-repetition maximum, which holds as far as a slow repetition there is limited by a steady hold there.

    Attributes
    ----------
    demand : float
        Above 0.
    u_demand : float
        Standard uncertainty of `demand`.
    no_more_than : tuple of RepetitionRange
        Ranges that this one never exceeds.

    Raises
    ------
    CoachingError
        For a demand that is not above 0.
    """

    demand: float
    u_demand: float = 0.0
    no_more_than: tuple[RepetitionRange, ...] = ()

    def __post_init__(self) -> None:
        _check(self.demand)

    @property
    def low(self) -> float:
        """Fewest repetitions, at the upper end of the demand."""
        hard = self.demand + NORMAL_COVERAGE_95 * self.u_demand
        return min(epley(hard), brzycki(hard), *(other.low for other in self.no_more_than))

    @property
    def middle(self) -> float:
        """Mean of the two formulas at the demand itself; one at least while the load can be moved."""
        first = 1.0 if self.demand < 1.0 else 0.0
        own = max(first, 0.5 * (epley(self.demand) + brzycki(self.demand)))
        return min(own, *(other.middle for other in self.no_more_than), own)

    @property
    def high(self) -> float:
        """Most repetitions, at the lower end of the demand."""
        easy = max(self.demand - NORMAL_COVERAGE_95 * self.u_demand, LEAST_DEMAND)
        own = max(epley(easy), brzycki(easy))
        return min(own, *(other.high for other in self.no_more_than), own)

    @property
    def held_down(self) -> bool:
        """Whether `no_more_than` lowers it."""
        alone = RepetitionRange(self.demand, self.u_demand)
        return (alone.low, alone.middle, alone.high) != (self.low, self.middle, self.high)

    @property
    def trusted(self) -> bool:
        """False when the range leaves the repetitions that the formulas were drawn from."""
        return self.high <= TRUSTED_REPETITIONS
