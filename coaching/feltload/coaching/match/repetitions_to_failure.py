"""Repetitions that a demand allows, as a range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import CoachingError
from feltload.coaching.match.match import Match

# Beyond this both formulas leave the data they were drawn from. Common practice, no source.
TRUSTED_REPETITIONS = 15.0


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
            f"a load fraction of {load_fraction:g} is not possible", remedy="give one above 0"
        )


@dataclass(frozen=True)
class RepetitionRange:
    """Repetitions to failure as a range: both formulas, over the 95 % range of the demand.

    Attributes
    ----------
    low, middle, high : float
        Repetitions; `middle` is the mean of the two formulas at the demand itself.
    demand : float
        The demand they are for.
    trusted : bool
        False when the range leaves the repetitions that the formulas were drawn from.
    """

    low: float
    middle: float
    high: float
    demand: float
    trusted: bool

    def __str__(self) -> str:
        if self.high < 0.5:
            return "none"
        most = round(TRUSTED_REPETITIONS)
        if self.low > TRUSTED_REPETITIONS:
            return f"more than {most}"
        if not self.trusted:
            return f"{most} or more" if round(self.low) == most else f"{round(self.low)} to more than {most}"
        low, high = round(self.low), round(self.high)
        return f"{low}" if low == high else f"{low} to {high}"


def repetitions_at(demand: float, u_demand: float = 0.0) -> RepetitionRange:
    """Repetitions to failure at a demand, with its standard uncertainty.

    Demand is load over capacity at the limiting position; both formulas take it in place of load over
    one-repetition maximum, which holds as far as a slow repetition there is limited by a steady hold there.
    """
    hard = demand + 1.96 * u_demand
    easy = max(demand - 1.96 * u_demand, 0.05)
    first = 1.0 if demand < 1.0 else 0.0
    middle = max(first, 0.5 * (epley(demand) + brzycki(demand)))
    low = min(epley(hard), brzycki(hard))
    high = max(epley(easy), brzycki(easy))
    return RepetitionRange(low, middle, high, demand, high <= TRUSTED_REPETITIONS)


def shortening_words(full: RepetitionRange, short: RepetitionRange, stop: str) -> str:
    """Whether turning at `stop` lets a client do more, in one sentence."""
    if short.middle - full.middle < 1.0 or str(short) == str(full):
        return (
            f"Turning at {stop} would not help: it asks for about as much up to there ({short} repetitions)."
        )
    return (
        f"Turning at {stop} instead of going through: {short} repetitions to be expected instead of {full}."
    )


def full_against_short(matched: Match, stop_rad: float) -> tuple[RepetitionRange, RepetitionRange]:
    """Repetitions through the full range, and stopping short of `stop_rad`.

    Parameters
    ----------
    matched : Match
        Load against capacity.
    stop_rad : float
        Lever angle at which each repetition is turned.

    Returns
    -------
    full, short : RepetitionRange
    """
    short = matched.between(-np.inf, stop_rad)
    place = int(np.argmax(np.where(matched.angle_rad <= stop_rad, matched.demand, -np.inf)))
    return (
        repetitions_at(matched.limiting_demand, matched.u_limiting_demand),
        repetitions_at(short, float(matched.u_demand[place])),
    )
