"""The test over a whole curve against closed forms, and the search for a cause."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feltload.calibration.agreement.contrasts import Contrasts

FLAT = 1e-6
"""A peak so small that nothing is added below which shapes are not weighed."""


def _no_shape(size: int) -> np.ndarray:
    return np.zeros((size, 1))


@pytest.mark.parametrize("points", [1, 5, 40])
def test_independent_points_have_the_limit_of_their_number(points) -> None:
    """The greatest of k independent normal values stays below x in 95 % of cases where (2 Phi(x) - 1)^k = 0.95."""
    d = np.zeros(points)
    d[points // 2] = -6.6
    found = Contrasts(d, 4.0 * np.eye(points), _no_shape(points), FLAT).test()
    limit = stats.norm.ppf(0.5 * (1.0 + 0.95 ** (1.0 / points)))
    assert found.largest == pytest.approx(3.3)
    assert found.shape is None
    assert found.differs == (found.critical < 3.3)
    # 4000 draws: the quantile's own standard deviation is 0.03.
    assert found.critical == pytest.approx(limit, abs=0.09)
    by_chance = 1.0 - (2.0 * stats.norm.cdf(3.3) - 1.0) ** points
    assert found.p_value == pytest.approx(by_chance, abs=4.0 * np.sqrt(by_chance / 4000.0))


def test_points_that_move_together_have_the_limit_of_one() -> None:
    """1.96 for a single normal value, whatever the number of points that repeat it; a difference of that size: 5 %."""
    found = Contrasts(np.full(30, 1.96), np.ones((30, 30)), _no_shape(30), FLAT).test()
    assert found.critical == pytest.approx(1.96, abs=0.09)
    assert found.largest == pytest.approx(1.96, rel=1e-6)
    assert found.p_value == pytest.approx(0.05, abs=0.012)


def test_a_shape_adds_up_what_no_point_shows() -> None:
    """25 points of 0.8 standard deviations each: along their common shape 0.8 times the root of 25."""
    found = Contrasts(np.full(25, 0.8), np.eye(25), np.ones((25, 1)), FLAT).test()
    assert found.largest == pytest.approx(4.0)
    # Bonferroni over 26 contrasts and a single one enclose the limit.
    assert 1.96 < found.critical < stats.norm.ppf(1.0 - 0.025 / 26) + 0.1
    assert found.p_value < 0.005
    assert found.shape == 0
    assert found.score == pytest.approx(4.0 / found.critical)


def test_a_model_that_needs_no_more_than_rounding_is_not_weighed() -> None:
    """5e-4 of a peak of 2000 N is 1 N beside 1 N and beside none: weights of 1/2 and 1 for a shape of 1 and 1."""
    covariance = np.diag([1.0, 1e-12])
    found = Contrasts(np.array([2.0, 0.0]), covariance, np.ones((2, 1)), 2000.0).causes()[0][0]
    # Least squares with weights 1/2 and 1: 2 (1/2) / (1/2 + 1).
    assert found.shifts == pytest.approx([2.0 / 3.0])


def test_what_is_left_after_a_shape_is_taken_out() -> None:
    """The mean taken out of 4, 2, 3, 3: 1 over the root of 1 - 1/4 is left."""
    contrasts = Contrasts(np.array([4.0, 2.0, 3.0, 3.0]), np.eye(4), np.ones((4, 1)), FLAT)
    assert contrasts.test().largest == pytest.approx(6.0)
    assert contrasts.test([0]).largest == pytest.approx(1.0 / np.sqrt(0.75))
    # A curve of one point has nothing left to test.
    single = Contrasts(np.array([9.0]), np.eye(1), np.ones((1, 1)), FLAT).test([0])
    assert (single.largest, single.p_value) == (0.0, 1.0)


SHAPES = np.stack([np.ones(20), np.linspace(-1.0, 1.0, 20), np.linspace(-1.0, 1.0, 20) ** 2 - 0.35], axis=1)


def test_one_cause_with_its_shift_and_evidence_by_hand() -> None:
    """A shift of 6 along one shape of 20 points: score 120, information 20, a blunder's spread of 4.

    Evidence: 120² / (20 + 1/16) - ln(1 + 16 x 20).
    """
    causes, explained = Contrasts(6.0 * SHAPES[:, 0], np.eye(20), SHAPES, FLAT).causes()
    assert explained
    assert [cause.indices for cause in causes] == [(0,)]
    assert causes[0].shifts == pytest.approx([6.0])
    assert causes[0].evidence == pytest.approx(120.0**2 / (20.0 + 1.0 / 16.0) - np.log(321.0))
    assert causes[0].test.largest == pytest.approx(0.0, abs=1e-6)


def test_two_causes_are_looked_for_where_one_is_not_enough() -> None:
    d = 6.0 * SHAPES[:, 0] - 5.0 * SHAPES[:, 1]
    causes, explained = Contrasts(d, np.eye(20), SHAPES, FLAT).causes()
    assert explained
    assert causes[0].indices == (0, 1)
    assert causes[0].shifts == pytest.approx([6.0, -5.0])


def test_a_difference_along_no_shape_is_not_explained() -> None:
    """A single point of 12 standard deviations: no shapes reach it, and the closest set is given."""
    d = np.zeros(20)
    d[3] = 12.0
    causes, explained = Contrasts(d, np.eye(20), SHAPES, FLAT).causes()
    assert not explained
    assert [cause.indices for cause in causes] == [(0, 1, 2)]
    assert causes[0].test.p_value <= 0.01


def test_two_dimensions_of_one_shape_are_both_named_and_one_of_none_is_not() -> None:
    """The one that would have to be less wrong in its own uncertainty comes first."""
    ones = np.ones(20)
    shapes = np.stack([ones, 2.0 * ones, 0.0 * ones], axis=1)
    contrasts = Contrasts(6.0 * ones, np.eye(20), shapes, FLAT)
    assert contrasts.determinable == (0, 1)
    causes, _ = contrasts.causes()
    assert [cause.indices for cause in causes] == [(1,), (0,)]
    assert [float(cause.shifts[0]) for cause in causes] == pytest.approx([3.0, 6.0])
    assert causes[0].evidence - causes[1].evidence < 3.84


@pytest.mark.parametrize(("wider", "as_good"), [(5.0, True), (8.0, False)])
def test_causes_are_told_apart_by_3_84_of_evidence(wider, as_good) -> None:
    """One uncertainty fits either shape; ln(1 + 16 x 20 x 5²) is 3.2 more than with 1², with 8² 4.2 more."""
    ones = np.ones(20)
    causes, _ = Contrasts(ones, np.eye(20), np.stack([ones, wider * ones], axis=1), FLAT).causes()
    assert [cause.indices for cause in causes] == [(0,), (1,)] * as_good + [(0,)] * (not as_good)


def test_four_causes_at_once_are_not_looked_for() -> None:
    shapes = np.kron(np.eye(4), np.ones((5, 1)))
    causes, explained = Contrasts(6.0 * shapes.sum(axis=1), np.eye(20), shapes, FLAT).causes()
    assert not explained
    assert {len(cause.indices) for cause in causes} == {3}


def test_a_dimension_that_hardly_bends_the_curve_is_no_candidate() -> None:
    """A part of 1e-6 of the largest information, which goes with the square of a shape."""
    shapes = np.outer(np.ones(20), [1.0, 1e-2, 1e-4])
    assert Contrasts(np.zeros(20), np.eye(20), shapes, FLAT).determinable == (0, 1)


@pytest.mark.parametrize(("left", "enough"), [(3.29, True), (3.62, False)])
def test_a_cause_is_enough_unless_one_in_a_hundred_leaves_as_much(left, enough) -> None:
    """Of 20 independent points one is 3.29 deviations off in 2 % of cases, and 3.62 in 0.6 %."""
    shape = np.zeros((20, 1))
    shape[:10] = 1.0
    d = 6.0 * shape[:, 0]
    d[15] = left
    causes, explained = Contrasts(d, np.eye(20), shape, FLAT).causes()
    by_chance = 1.0 - (2.0 * stats.norm.cdf(left) - 1.0) ** 20
    assert causes[0].test.p_value == pytest.approx(by_chance, abs=4.0 * np.sqrt(by_chance / 4000.0))
    assert [cause.indices for cause in causes] == [(0,)]
    assert explained == enough
