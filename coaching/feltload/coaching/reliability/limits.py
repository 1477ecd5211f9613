"""Limits of agreement of two ways, days or people, with the confidence of the limits themselves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.within import Estimate, in_unit
from feltload.core import NORMAL_COVERAGE_95, Intervals, Shown, Summary

if TYPE_CHECKING:
    import pandas as pd

FEWEST_PAIRS = 3


@dataclass(frozen=True, repr=False)
class LimitsOfAgreement(Shown):
    """Where 95 % of the differences of pairs lie.

    Attributes
    ----------
    bias : Estimate
        Mean difference.
    lower, upper : Estimate
        Limits of agreement, bias ∓ 1.96 standard deviations.
    sd : float
        Of the differences.
    pairs : int
    unit : str
        Of the values.
    """

    bias: Estimate
    lower: Estimate
    upper: Estimate
    sd: float
    pairs: int
    unit: str = ""

    @property
    def _named(self) -> dict[str, Estimate]:
        return {"lower limit": self.lower, "mean difference": self.bias, "upper limit": self.upper}

    @property
    def _title(self) -> str:
        return f"Limits of agreement of {self.pairs} pairs, first minus second"

    def summary(self) -> Summary:
        """Mean difference and both limits, each with its 95 % interval."""
        rows = tuple((name, each.said(self.unit)) for name, each in self._named.items())
        return Summary(self._title, ("", "value (95 % interval)"), rows)

    def picture(self) -> Intervals:
        """The same as points with intervals."""
        named = self._named
        values, low, high = np.array([(each.value, each.lower, each.upper) for each in named.values()]).T
        label = f"difference, {in_unit(self.unit)}"
        return Intervals(self._title, label, tuple(named), values, (low, high))

    def to_frame(self) -> pd.DataFrame:
        """One row a limit: ``statistic, value, lower95, upper95``."""
        import pandas as pd

        rows = [(name, each.value, each.lower, each.upper) for name, each in self._named.items()]
        return pd.DataFrame(rows, columns=["statistic", "value", "lower95", "upper95"])


def limits_of_agreement(
    first: ArrayLike,
    second: ArrayLike,
    *,
    confidence: Literal["exact", "approximate"] = "exact",
    unit: str = "",
) -> LimitsOfAgreement:
    """Limits of agreement of pairs, first minus second.

    Parameters
    ----------
    first, second : array_like, shape (n,)
        Values of the same targets.
    confidence : {"exact", "approximate"}
        Of the limits: by the non-central t distribution, exact for normal differences, or by the standard error
        ``sqrt(3 / n)`` standard deviations that Bland & Altman (1986) give.
    unit : str
        Of the values, to be shown.

    Raises
    ------
    CoachingError
        For fewer than three pairs, or differences that are all equal.

    References
    ----------
    Bland & Altman (1986), doi:10.1016/S0140-6736(86)90837-8; Carkeet (2015), doi:10.1097/OPX.0000000000000513.
    """
    from scipy.stats import nct, t

    difference = np.asarray(first, dtype=float) - np.asarray(second, dtype=float)
    n = difference.size
    if n < FEWEST_PAIRS:
        raise CoachingError(f"limits of agreement need {FEWEST_PAIRS} pairs or more, and there are {n}")
    bias, sd = float(difference.mean()), float(difference.std(ddof=1))
    if sd == 0.0:
        raise CoachingError("the differences of all pairs are equal")
    near = float(t.ppf(0.975, n - 1))
    if confidence == "exact":
        inner, outer = nct.ppf([0.025, 0.975], n - 1, NORMAL_COVERAGE_95 * np.sqrt(n)) / np.sqrt(n)
    else:
        spread = near * np.sqrt(3.0 / n)
        inner, outer = NORMAL_COVERAGE_95 - spread, NORMAL_COVERAGE_95 + spread
    half = near * sd / float(np.sqrt(n))
    return LimitsOfAgreement(
        bias=Estimate(bias, bias - half, bias + half),
        lower=Estimate(bias - NORMAL_COVERAGE_95 * sd, bias - float(outer) * sd, bias - float(inner) * sd),
        upper=Estimate(bias + NORMAL_COVERAGE_95 * sd, bias + float(inner) * sd, bias + float(outer) * sd),
        sd=sd,
        pairs=n,
        unit=unit,
    )
