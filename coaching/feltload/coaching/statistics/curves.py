"""Curves of any unit along the travel with everything that is uncertain of them, scaled and compared."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from feltload.coaching.errors import OverlapError, ScalingError
from feltload.coaching.statistics.whole_curve import whole_curve_factor
from feltload.core import Flags, Floats, interpolation_weights
from feltload.signal import BudgetSource

SMALLEST_OVERLAP_RAD = float(np.deg2rad(5.0))
FEWEST_ANGLES = 3

ScaledBy = Literal["mean", "peak"]

LEAST_SURE = 5.0
"""A curve is scaled by a figure that is at least this many times its own half-width from zero (our convention)."""


@dataclass(frozen=True)
class UncertainCurve:
    """A curve on n angles.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
        Ascending.
    values : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)
    coverage : float
        Factor from a standard uncertainty to a 95 % band at one angle.
    systematic : mapping of str to ndarray, shape (n,)
        Signed change of the values when one source, by its name, is off by one standard uncertainty; all of them
        are in `covariance` too.
    """

    angle_rad: Floats
    values: Floats
    covariance: Floats
    coverage: float
    systematic: Mapping[str, Floats] = field(default_factory=dict)

    @property
    def u95(self) -> Floats:
        """Half-width of the 95 % band at each angle by itself, shape (n,)."""
        return np.asarray(self.coverage * np.sqrt(np.maximum(np.diag(self.covariance), 0.0)))

    def at(self, angle_rad: Floats) -> UncertainCurve:
        """The curve on other angles, (k,), linear between its own."""
        return self._changed(interpolation_weights(self.angle_rad, angle_rad).toarray(), angle_rad)

    def scaled(self, by: ScaledBy) -> UncertainCurve:
        """The curve as parts of its own mean or peak; an error that is a share of the curve cancels.

        Raises
        ------
        ScalingError
            The mean, or the peak, is not clearly apart from zero.

        Notes
        -----
        First order (JCGM 100:2008, 5.2.2): ``d(f / m) = (df - (f / m) dm) / m``.
        """
        n = self.values.size
        weights = np.full(n, 1.0 / n) if by == "mean" else np.eye(n)[int(np.argmax(np.abs(self.values)))]
        size = float(weights @ self.values)
        u95 = self.coverage * float(np.sqrt(max(float(weights @ self.covariance @ weights), 0.0)))
        if abs(size) < LEAST_SURE * u95 or size == 0.0:
            raise ScalingError(
                f"its {by} over the shared travel is too near zero to scale by",
                remedy="compare it without --scaled",
            )
        parts = self.values / size
        return self._changed((np.eye(n) - np.outer(parts, weights)) / size, self.angle_rad, parts)

    def _changed(self, operator: Floats, angle_rad: Floats, values: Floats | None = None) -> UncertainCurve:
        return replace(
            self,
            angle_rad=angle_rad,
            values=np.asarray(operator @ self.values if values is None else values),
            covariance=np.asarray(operator @ self.covariance @ operator.T),
            systematic={name: np.asarray(operator @ curve) for name, curve in self.systematic.items()},
        )


@dataclass(frozen=True)
class CurveDifference:
    """First curve minus second.

    Attributes
    ----------
    angle_rad, values : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)
    coverage : float
        Factor from a standard uncertainty to a 95 % band at one angle.
    curves : int
        How many differences are looked at together, whose bands hold all of them in 95 % of cases.
    """

    angle_rad: Floats
    values: Floats
    covariance: Floats
    coverage: float
    curves: int = 1

    @property
    def u95(self) -> Floats:
        """Half-width of the 95 % band at each angle by itself, shape (n,)."""
        return np.asarray(self.coverage * self._u)

    @property
    def curve_u95(self) -> Floats:
        """Half-width of the band that holds whole curves, all of them together, shape (n,)."""
        factor = whole_curve_factor(self.covariance, coverage=self.coverage, curves=self.curves)
        return np.asarray(factor * self._u)

    @property
    def established(self) -> Flags:
        """Where it leaves that band, shape (n,)."""
        return np.asarray(np.abs(self.values) > self.curve_u95)

    @property
    def mean(self) -> float:
        """Over the angles."""
        return float(np.mean(self.values))

    @property
    def mean_u95(self) -> float:
        """Half-width of the 95 % band of the mean."""
        return self.coverage * float(np.sqrt(max(float(np.mean(self.covariance)), 0.0)))

    @property
    def mean_established(self) -> bool:
        """Whether the mean leaves a band that holds those of all differences together in 95 % of cases."""
        variance = np.full((1, 1), float(np.mean(self.covariance)))
        factor = whole_curve_factor(variance, coverage=self.coverage, curves=self.curves)
        return abs(self.mean) * self.coverage > factor * self.mean_u95

    def about_mean(self) -> CurveDifference:
        """The difference less its mean: where it is more than elsewhere, whatever it is on the whole."""
        n = self.values.size
        operator = np.eye(n) - 1.0 / n
        return replace(
            self,
            values=self.values - self.mean,
            covariance=np.asarray(operator @ self.covariance @ operator.T),
        )

    @property
    def somewhere(self) -> Flags:
        """Where it is established, and beyond its own mean too: a place apart from the rest, shape (n,)."""
        uneven = self.about_mean()
        beyond = uneven.established & (np.sign(uneven.values) == np.sign(self.values))
        return np.asarray(self.established & beyond)

    @property
    def _u(self) -> Floats:
        return np.asarray(np.sqrt(np.maximum(np.diag(self.covariance), 0.0)))


def curve_difference(
    first: UncertainCurve,
    second: UncertainCurve,
    *,
    common: Collection[BudgetSource] = (),
    scaled_by: ScaledBy | None = None,
    curves: int = 1,
) -> CurveDifference:
    """Difference of two curves at equal angles with its band.

    Parameters
    ----------
    first, second : UncertainCurve
    common : collection of BudgetSource
        Sources whose error both share: what of it is alike cancels. Everything else counts as independent.
    scaled_by : {"mean", "peak"}, optional
        Scale each by its own figure over the travel that both cover.
    curves : int
        Differences that are looked at together.

    Raises
    ------
    OverlapError
        They share less than five degrees of travel.
    ScalingError
        One of them cannot be scaled.
    """
    angle = shared_angles(first.angle_rad, second.angle_rad)
    if angle.size < FEWEST_ANGLES:
        raise OverlapError(
            f"the two profiles cover only {angle.size} angles in common",
            remedy="measure both over the same travel",
        )
    ours, theirs = first.at(angle), second.at(angle)
    if scaled_by is not None:
        ours, theirs = ours.scaled(scaled_by), theirs.scaled(scaled_by)
    covariance = ours.covariance + theirs.covariance
    for name in ours.systematic.keys() & theirs.systematic.keys():
        if any(name.startswith(source_name(source)) for source in common):
            a, b = ours.systematic[name], theirs.systematic[name]
            covariance = covariance - np.outer(a, b) - np.outer(b, a)
    return CurveDifference(
        angle, ours.values - theirs.values, covariance, max(ours.coverage, theirs.coverage), curves
    )


def shared_angles(first_rad: Floats, second_rad: Floats) -> Floats:
    """Angles of the first grid that the second covers too.

    Raises
    ------
    OverlapError
        They share less than five degrees of travel.
    """
    low, high = max(first_rad[0], second_rad[0]), min(first_rad[-1], second_rad[-1])
    if high - low < SMALLEST_OVERLAP_RAD:
        raise OverlapError(
            "the two profiles share less than 5° of travel", remedy="measure both over the same travel"
        )
    return np.asarray(first_rad[(first_rad >= low - 1e-9) & (first_rad <= high + 1e-9)])


def source_name(source: BudgetSource, session: str = "") -> str:
    """Name of a source in `UncertainCurve.systematic`; without a session what all names of the source begin with."""
    return f"{source}/{session}"
