"""Repeatability along a curve, and whether two occasions differ anywhere on it."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import ArrayLike

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.change import minimal_difference
from feltload.coaching.reliability.within import in_unit
from feltload.core import Curve, Flags, Floats, Picture, Scale, Shown, Summary

if TYPE_CHECKING:
    import pandas as pd

_BY_POINT: Final = Scale("point", "point of the curve", np.asarray)

MOST_ARRANGEMENTS = 4096
DRAWN_ARRANGEMENTS = 4000
SIGNIFICANCE = 0.05


@dataclass(frozen=True, repr=False)
class CurveRepeatability(Shown):
    """Statistics at each position by itself.

    Attributes
    ----------
    mean, sem : ndarray, shape (n,)
        Of all curves, and within targets; NaN where nothing was repeated.
    correlation : ndarray, shape (n,)
        One-way intraclass correlation of a single value; NaN for one target.
    unit : str
        Of the curves.
    """

    mean: Floats
    sem: Floats
    correlation: Floats
    unit: str = ""

    @property
    def minimal_difference(self) -> Floats:
        """Difference of two single values that 95 % of unchanged pairs stay under, at one position."""
        return np.asarray(minimal_difference(1.0) * self.sem)

    def summary(self) -> Summary:
        """Smallest and largest error along the curve."""
        rows = tuple(
            (name, *(f"{each:.3g} {self.unit}".strip() for each in (np.nanmin(values), np.nanmax(values))))
            for name, values in (
                ("standard error of measurement", self.sem),
                ("minimal difference", self.minimal_difference),
            )
        )
        title = f"Repeatability along a curve of {self.mean.size} points"
        return Summary(title, ("", "smallest", "largest"), rows)

    def picture(self) -> Picture:
        """Standard error of measurement and minimal difference along the curve."""
        beside = (("minimal difference of two curves", self.minimal_difference),)
        curve = Curve("", np.arange(self.sem.size, dtype=float), self.sem, None, beside)
        label, line = f"error, {in_unit(self.unit)}", "standard error of measurement"
        return Picture("Repeatability along the curve", label, (curve,), (_BY_POINT,), line_name=line)

    def to_frame(self) -> pd.DataFrame:
        """One row a point: ``mean, sem, minimal_difference, correlation``."""
        import pandas as pd

        return pd.DataFrame(
            {
                "mean": self.mean,
                "sem": self.sem,
                "minimal_difference": self.minimal_difference,
                "correlation": self.correlation,
            }
        )


def curve_repeatability(curves: ArrayLike, targets: ArrayLike, *, unit: str = "") -> CurveRepeatability:
    """Scatter within targets and correlation at each position.

    Parameters
    ----------
    curves : array_like, shape (m, n)
        NaN where a curve does not reach.
    targets : array_like, shape (m,)
        What each was measured of.
    unit : str
        Of the curves, to be shown.

    Raises
    ------
    CoachingError
        When nothing was repeated anywhere.
    """
    y, labels = np.asarray(curves, dtype=float), np.asarray(targets)
    n = y.shape[1]
    known = np.isfinite(y)
    filled = np.where(known, y, 0.0)
    counts = known.sum(axis=0)
    total = filled.sum(axis=0)
    within, per_target, squared_counts, groups = np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n)
    for target in np.unique(labels):
        rows = labels == target
        k, mean_of = known[rows].sum(axis=0), filled[rows].sum(axis=0)
        mean = mean_of / np.maximum(k, 1)
        within += (np.where(known[rows], y[rows] - mean, 0.0) ** 2).sum(axis=0)
        per_target += k * mean**2
        squared_counts += k**2
        groups += k > 0
    freedom = counts - groups
    if not (freedom > 0).any():
        raise CoachingError("nothing was measured twice", remedy="repeat at least one measurement")
    with np.errstate(divide="ignore", invalid="ignore"):
        overall = total / counts
        error = np.where(freedom > 0, within / freedom, np.nan)
        between = (per_target - counts * overall**2) / (groups - 1)
        # Values a target, as a one-way analysis of unequal groups counts them.
        k0 = (counts - squared_counts / counts) / (groups - 1)
        correlation = np.where(groups > 1, (between - error) / (between + (k0 - 1) * error), np.nan)
    return CurveRepeatability(overall, np.sqrt(error), correlation, unit)


@dataclass(frozen=True)
class CurveTest:
    """Two occasions compared along a curve.

    Attributes
    ----------
    difference : ndarray, shape (n,)
        Mean of first minus second.
    statistic : ndarray, shape (n,)
        Student's t at each position.
    threshold : float
        What its largest size over the whole curve exceeds in one case of twenty when nothing differs.
    p : float
        Share of arrangements whose largest statistic is no smaller.
    arrangements : int
    """

    difference: Floats
    statistic: Floats
    threshold: float
    p: float
    arrangements: int

    @property
    def established(self) -> Flags:
        """Where the difference leaves what chance gives somewhere on the curve in one case of twenty, shape (n,)."""
        return np.asarray((np.abs(self.statistic) > self.threshold) & (self.p <= SIGNIFICANCE))

    @property
    def can_decide(self) -> bool:
        """Whether there are enough arrangements for a difference to be established at 5 %."""
        return 2.0 / self.arrangements <= SIGNIFICANCE


def compare_paired_curves(first: ArrayLike, second: ArrayLike, *, seed: int = 1) -> CurveTest:
    """Whether two occasions differ anywhere along the curve: permutation test of the largest paired t.

    Parameters
    ----------
    first, second : array_like, shape (targets, n)
        One curve a target, in the same order, without gaps.
    seed : int
        For the draws, where there are too many arrangements to try all.

    Raises
    ------
    CoachingError
        For fewer than two targets, or gaps.

    References
    ----------
    Nichols & Holmes (2002), doi:10.1002/hbm.1058: signs of the differences are exchanged, and the largest statistic
    over the curve is compared with its distribution, which holds the error over the whole curve.
    """
    d = np.asarray(first, dtype=float) - np.asarray(second, dtype=float)
    if d.ndim != 2 or len(d) < 2 or not np.isfinite(d).all():
        raise CoachingError("curves are compared of two targets or more, without gaps")
    m = len(d)
    if 2**m <= MOST_ARRANGEMENTS:
        signs = np.array(list(itertools.product((1.0, -1.0), repeat=m)))
    else:
        signs = np.random.default_rng(seed).choice((1.0, -1.0), size=(DRAWN_ARRANGEMENTS, m))
        signs[0] = 1.0
    floor = 1e-9 * max(float(np.abs(d).max()), 1e-300)
    means = signs @ d / m
    # Signs leave squares as they are.
    deviation = np.sqrt(np.maximum(((d**2).sum(axis=0) - m * means**2) / (m - 1), 0.0)) + floor
    statistics = means / (deviation / np.sqrt(m))
    largest = np.abs(statistics).max(axis=1)
    return CurveTest(
        difference=d.mean(axis=0),
        statistic=statistics[0],
        threshold=float(np.quantile(largest, 1.0 - SIGNIFICANCE)),
        p=float(np.mean(largest >= largest[0] * (1.0 - 1e-9))),
        arrangements=len(signs),
    )
