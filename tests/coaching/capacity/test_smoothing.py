"""The curve through a few uncertain points: one Gaussian process against a reference library, and what is averaged."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from feltload.coaching.capacity.smoothing import _fit, smooth_curve

X = np.deg2rad([-20.0, -2.0, 18.0, 40.0])
Y = np.array([520.0, 470.0, 455.0, 380.0])
U = np.array([10.0, 25.0, 12.0, 15.0])
GRID = np.deg2rad(np.linspace(-20.0, 40.0, 13))


@pytest.mark.parametrize(("length", "height"), [(0.4, 30.0), (1.0, 150.0)])
def test_one_length_and_height_against_the_joint_normal_distribution(length, height) -> None:
    """Rasmussen & Williams (2006), eqs. 2.21 to 2.24 and 5.8: the joint distribution of points and curve, with a level
    of three times the mean as its prior, conditioned on the points by its precision matrix (Bishop, Pattern Recognition
    and Machine Learning, 2.73 and 2.75; from memory); the evidence is scipy's log density of the points.
    """
    at, level = np.concatenate([X, GRID]), Y.mean()
    joint = height**2 * np.exp(-0.5 * ((at[:, None] - at) / length) ** 2) + (3.0 * level) ** 2
    joint[: X.size, : X.size] += np.diag(U**2)
    # Grid angles on a point make the joint matrix singular but for what is added here.
    precision = np.linalg.inv(joint + 1e-4 * np.eye(at.size))
    known, asked = slice(0, X.size), slice(X.size, None)
    covariance = np.linalg.inv(precision[asked, asked])
    mean = level - covariance @ precision[asked, known] @ (Y - level)
    evidence, curve, band = _fit(X, Y, U, GRID, length, height, float(level))
    assert curve == pytest.approx(mean, abs=0.02)
    assert band == pytest.approx(covariance, abs=0.05)
    other, _, _ = _fit(X, Y, U, GRID, 2.0 * length, 0.5 * height, float(level))
    densities = [
        multivariate_normal(np.full(X.size, level), cov).logpdf(Y)
        for cov in (
            joint[known, known],
            (0.5 * height) ** 2 * np.exp(-0.5 * ((X[:, None] - X) / (2.0 * length)) ** 2)
            + (3.0 * level) ** 2
            + np.diag(U**2),
        )
    ]
    # The evidence leaves out what is the same for all.
    assert evidence - other == pytest.approx(densities[0] - densities[1], abs=1e-6)


def test_points_on_a_level_give_that_level_and_exact_ones_are_met() -> None:
    curve, covariance = smooth_curve(X, np.full(4, 400.0), U, GRID)
    assert curve == pytest.approx(np.full(GRID.size, 400.0))
    assert covariance == pytest.approx(covariance.T)
    exact, covariance = smooth_curve(X, Y, np.full(4, 0.01), X)
    assert exact == pytest.approx(Y, abs=0.05)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(np.full(4, 0.01), rel=0.01)


def test_a_curve_that_bends_is_less_certain_between_its_points_than_one_that_does_not() -> None:
    """Half-way between the points, known to 4 N: what the tallest bumps explain leaves more open than a level does."""
    middle = X[:-1] + 0.5 * np.diff(X)
    (_, even), (_, bent) = (
        smooth_curve(X, 400.0 + size * np.array([1.0, -1.0, 1.0, -1.0]), np.full(4, 4.0), middle)
        for size in (1.0, 120.0)
    )
    assert np.sqrt(np.diag(bent)).min() > 2.0 * np.sqrt(np.diag(even)).max()
