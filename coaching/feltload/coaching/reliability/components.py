"""Variance components of any random design by analysis of variance, with confidence limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.within import Estimate
from feltload.core import Floats, Indices

DRAWS = 20_000
CURVE_DRAWS = 4_000
TAILS = (0.025, 0.975)
SAME_SPACE = 1e-8
RESIDUAL = "residual"


@dataclass(frozen=True)
class Component:
    """One source of scatter.

    Attributes
    ----------
    name : str
    variance : Estimate
        The value may be below zero: then the data give no sign of the source. Its limits are not.
    degrees_of_freedom : int
    mean_square : float
    """

    name: str
    variance: Estimate
    degrees_of_freedom: int
    mean_square: float

    @property
    def sd(self) -> Estimate:
        """Standard deviation; zero for an estimate below zero."""
        each = self.variance
        return Estimate(*(float(np.sqrt(max(0.0, part))) for part in (each.value, each.lower, each.upper)))


@dataclass(frozen=True)
class Components:
    """Sources of scatter of one quantity, the residual last.

    Attributes
    ----------
    parts : tuple of Component
    mean : float
        Of all values.
    exact : bool
        Whether the mean squares are independent and follow chi-squared distributions, as in a balanced design; else the
        limits are approximate.
    draws : ndarray, shape (draws, parts)
        Variances that fit the data, from which limits of sums follow.
    """

    parts: tuple[Component, ...]
    mean: float
    exact: bool
    draws: Floats

    def total(self, *, without: tuple[str, ...] = ()) -> Estimate:
        """Variance of a single value: the sum of the components, some of them left out; never below zero."""
        keep = [k for k, part in enumerate(self.parts) if part.name not in without]
        value = sum(self.parts[k].variance.value for k in keep)
        lower, upper = np.quantile(self.draws[:, keep].sum(axis=1), [0.025, 0.975])
        return Estimate(max(0.0, value), max(0.0, float(lower)), max(0.0, float(upper)))


def variance_components(
    values: ArrayLike, terms: Mapping[str, ArrayLike], *, draws: int = DRAWS, seed: int = 1
) -> Components:
    """Variance components of a random model, terms in order.

    Parameters
    ----------
    values : array_like, shape (n,)
    terms : mapping of str to array_like, each shape (n,)
        Group labels of each random term; a later term is fitted after the earlier ones, so an interaction or a nested
        factor comes after what it is nested in. Each must add something to those before it.
    draws : int
        For the limits.
    seed : int

    Raises
    ------
    CoachingError
        When a term adds nothing to the others, or nothing is left for the residual.

    Notes
    -----
    The mean squares of the terms, each fitted after those before it, are set equal to their expectations (Henderson's
    method 3), which are computed from the projections themselves, so the design may be crossed, nested or unbalanced.
    The limits are those of generalized inference (Weerahandi 1993, doi:10.1080/01621459.1993.10476355; for gauge
    studies Hamada & Weerahandi 2000, doi:10.1080/00224065.2000.11980000): each sum of squares is divided by draws of
    its chi-squared, and the same equations are solved.
    """
    y = np.asarray(values, dtype=float)
    of = analysis_of_variance(y.size, terms)
    squares = of.squares(y)
    variances = np.linalg.solve(of.expected, squares / of.freedom)
    drawn = np.linalg.solve(of.expected, (squares / of.chi_squared(draws, seed)).T).T
    limits = np.clip(np.quantile(drawn, TAILS, axis=0), 0.0, None)
    parts = tuple(
        Component(
            name,
            Estimate(float(variances[k]), float(limits[0, k]), float(limits[1, k])),
            int(of.freedom[k]),
            float(squares[k] / of.freedom[k]),
        )
        for k, name in enumerate([*terms, RESIDUAL])
    )
    return Components(parts, float(y.mean()), of.exact, np.asarray(drawn, dtype=float))


def scatter_along(
    curves: ArrayLike,
    terms: Mapping[str, ArrayLike],
    *,
    without: tuple[str, ...],
    draws: int = CURVE_DRAWS,
    seed: int = 1,
) -> tuple[Floats, Floats, Floats]:
    """Standard deviation of the sum of the components at each position of curves, some left out, with 95 % limits.

    Parameters
    ----------
    curves : array_like, shape (m, n)
    terms : mapping of str to array_like, each shape (m,)
        As `variance_components` takes them.
    without : tuple of str
        Components that are no part of the sum.
    draws, seed : int
        For the limits, which are pointwise.

    Returns
    -------
    value, lower, upper : ndarray, shape (n,)

    Raises
    ------
    CoachingError
        As `variance_components`.
    """
    y = np.asarray(curves, dtype=float)
    of = analysis_of_variance(len(y), terms)
    kept = np.array([name not in without for name in (*terms, RESIDUAL)], dtype=float)
    # The sum is linear in the sums of squares.
    weights = np.linalg.solve(of.expected.T, kept)
    squares = of.squares(y)
    value = (weights / of.freedom) @ squares
    lower, upper = np.quantile((weights / of.chi_squared(draws, seed)) @ squares, TAILS, axis=0)
    value, lower, upper = (np.sqrt(np.maximum(each, 0.0)) for each in (value, lower, upper))
    return np.asarray(value), np.asarray(lower), np.asarray(upper)


@dataclass(frozen=True)
class AnalysisOfVariance:
    """What a design makes of values: sums of squares by term, and what their mean squares are expected to be.

    Attributes
    ----------
    spaces : tuple of ndarray, each shape (n, degrees of freedom)
        Orthonormal directions that each term adds.
    freedom : ndarray of int, shape (terms + 1,)
        The residual's last.
    expected : ndarray, shape (terms + 1, terms + 1)
        Coefficients of the variances in the expected mean squares.
    exact : bool
    """

    spaces: tuple[Floats, ...]
    freedom: Indices
    expected: Floats
    exact: bool

    def squares(self, y: Floats) -> Floats:
        """Sums of squares of values, shape (n,) or (n, positions): one row a term, and the residual's."""
        centred = y - y.mean(axis=0)
        explained = [((space.T @ centred) ** 2).sum(axis=0) for space in self.spaces]
        left = (centred**2).sum(axis=0) - sum(explained)
        return np.asarray([*explained, np.maximum(left, 0.0)])

    def chi_squared(self, draws: int, seed: int) -> Floats:
        """Draws of what sums of squares over variances follow, shape (draws, terms + 1)."""
        return np.random.default_rng(seed).chisquare(self.freedom, size=(draws, self.freedom.size))


def analysis_of_variance(count: int, terms: Mapping[str, ArrayLike]) -> AnalysisOfVariance:
    """The design of `count` values, terms in order.

    Raises
    ------
    CoachingError
        When a term adds nothing to the others, or nothing is left for the residual.
    """
    dummies = {name: _dummies(np.asarray(labels)) for name, labels in terms.items()}
    basis = np.full((count, 1), count**-0.5)
    spaces: list[Floats] = []
    for name, dummy in dummies.items():
        added = _added(basis, dummy)
        if not added.shape[1]:
            raise CoachingError(f"{name} cannot be separated from the terms before it")
        spaces.append(added)
        basis = np.column_stack([basis, added])
    left = count - basis.shape[1]
    if left < 1:
        raise CoachingError("the terms leave nothing for the residual")
    expected, exact = _expectations(spaces, list(dummies.values()))
    return AnalysisOfVariance(
        tuple(spaces), np.array([*(space.shape[1] for space in spaces), left]), expected, exact
    )


def added_dimensions(labels: list[ArrayLike]) -> list[int]:
    """How many degrees of freedom each grouping adds to those before it."""
    arrays = [np.asarray(each) for each in labels]
    basis = np.full((arrays[0].size, 1), arrays[0].size ** -0.5)
    added = []
    for each in arrays:
        new = _added(basis, _dummies(each))
        basis = np.column_stack([basis, new])
        added.append(new.shape[1])
    return added


def _dummies(labels: np.ndarray) -> Floats:
    """One column a group, 1 where it belongs, shape (n, groups)."""
    names, which = np.unique(labels, return_inverse=True)
    return np.eye(names.size)[which]


def _added(basis: Floats, dummy: Floats) -> Floats:
    """Orthonormal directions of the groups beside those of `basis`."""
    beside = dummy - basis @ (basis.T @ dummy)
    directions, sizes, _ = np.linalg.svd(beside, full_matrices=False)
    return np.asarray(directions[:, sizes > SAME_SPACE * np.sqrt(len(dummy))])


def _expectations(spaces: list[Floats], dummies: list[Floats]) -> tuple[Floats, bool]:
    """Coefficients of the variances in the expected mean squares, and whether these are independent chi-squared."""
    count = len(spaces)
    expected, exact = np.eye(count + 1), True
    expected[:, count] = 1.0
    for j, dummy in enumerate(dummies):
        seen = [space.T @ dummy for space in spaces]
        for i, part in enumerate(seen):
            product = part @ part.T
            expected[i, j] = float(np.trace(product)) / len(product)
            even = np.allclose(product, expected[i, j] * np.eye(len(product)), atol=1e-6)
            apart = all(np.allclose(part @ other.T, 0.0, atol=1e-6) for other in seen[:i])
            exact = exact and even and apart
    return expected, exact
