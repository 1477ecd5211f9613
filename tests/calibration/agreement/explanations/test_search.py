"""The search for a cause against sums by hand, and where causes bend beyond first order."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feltload.calibration.agreement.contrasts import Contrasts
from feltload.calibration.agreement.explanations.search import Cause, Search, Trial

FLAT = 1e-6
"""A peak so small that nothing is added below which shapes are not weighed."""


def _search(
    difference: np.ndarray, covariance: np.ndarray, shapes: np.ndarray, peak_n: float = FLAT
) -> Search:
    contrasts = Contrasts(difference, covariance, shapes, peak_n)
    return Search(contrasts, [Trial(column) for column in shapes.T])


def _causes(*given: object) -> tuple[list[Cause], bool]:
    return _search(*given).causes()


def test_a_model_that_needs_no_more_than_rounding_is_not_weighed() -> None:
    """5e-4 of a peak of 2000 N is 1 N beside 1 N and beside none: weights of 1/2 and 1 for a shape of 1 and 1."""
    covariance = np.diag([1.0, 1e-12])
    found = _causes(np.array([2.0, 0.0]), covariance, np.ones((2, 1)), 2000.0)[0][0]
    # Least squares with weights 1/2 and 1: 2 (1/2) / (1/2 + 1).
    assert found.shifts == pytest.approx([2.0 / 3.0])


SHAPES = np.stack([np.ones(20), np.linspace(-1.0, 1.0, 20), np.linspace(-1.0, 1.0, 20) ** 2 - 0.35], axis=1)


def test_one_cause_with_its_shift_and_evidence_by_hand() -> None:
    """A shift of 6 along one shape of 20 points: score 120, information 20, a blunder's spread of 4.

    Evidence: 120² / (20 + 1/16) - ln(1 + 16 x 20).
    """
    causes, explained = _causes(6.0 * SHAPES[:, 0], np.eye(20), SHAPES)
    assert explained
    assert [cause.indices for cause in causes] == [(0,)]
    assert causes[0].shifts == pytest.approx([6.0])
    assert causes[0].evidence == pytest.approx(120.0**2 / (20.0 + 1.0 / 16.0) - np.log(321.0))
    assert causes[0].test.largest == pytest.approx(0.0, abs=1e-6)


def test_a_far_blunder_is_weighed_by_how_far_it_may_reach() -> None:
    """The same with a far spread of 10, as likely as the slight one of 4: the mean of both likelihoods."""
    contrasts = Contrasts(6.0 * SHAPES[:, 0], np.eye(20), SHAPES, FLAT)
    search = Search(contrasts, [Trial(SHAPES[:, 0], spread=10.0), *(Trial(s) for s in SHAPES.T[1:])])
    slight, far = (120.0**2 / (20.0 + 1.0 / s**2) - np.log(1.0 + 20.0 * s**2) for s in (4.0, 10.0))
    (cause,), _ = search.causes()
    assert cause.evidence == pytest.approx(slight + 2.0 * np.log(0.5 + 0.5 * np.exp(0.5 * (far - slight))))


@pytest.mark.parametrize(("spread", "tied"), [(4.0, False), (30.0, True)])
def test_a_far_blunder_is_tied_with_a_slight_one_of_the_same_shape(spread: float, tied: bool) -> None:
    """A shift of 5 of one, or of 25 of the other: six spreads of a slight one, less than one of a far one."""
    contrasts = Contrasts(5.0 * SHAPES[:, 0], np.eye(20), SHAPES, FLAT)
    trials = [Trial(SHAPES[:, 0]), Trial(0.2 * SHAPES[:, 0], spread=spread)]
    assert [c.indices for c in Search(contrasts, trials).causes()[0]] == ([(0,), (1,)] if tied else [(0,)])


def test_two_causes_are_looked_for_where_one_is_not_enough() -> None:
    d = 6.0 * SHAPES[:, 0] - 5.0 * SHAPES[:, 1]
    causes, explained = _causes(d, np.eye(20), SHAPES)
    assert explained
    assert causes[0].indices == (0, 1)
    assert causes[0].shifts == pytest.approx([6.0, -5.0])


@pytest.mark.parametrize(("along", "closest"), [(9.0, [(0,)]), (1.0, [])])
def test_a_difference_along_no_shape_is_not_explained(along: float, closest: list[tuple[int, ...]]) -> None:
    """A point of 12 standard deviations that no shape reaches: what explains less than half is no culprit."""
    d = along * SHAPES[:, 0]
    d[3] += 12.0
    causes, explained = _causes(d, np.eye(20), SHAPES)
    assert not explained
    assert [cause.indices[:1] for cause in causes] == closest
    assert all(cause.test.p_value <= 0.01 for cause in causes)


def test_two_dimensions_of_one_shape_are_both_named_and_one_of_none_is_not() -> None:
    """The one that would have to be less wrong in its own uncertainty comes first."""
    ones = np.ones(20)
    shapes = np.stack([ones, 2.0 * ones, 0.0 * ones], axis=1)
    search = _search(6.0 * ones, np.eye(20), shapes)
    assert search.determinable == (0, 1)
    causes, _ = search.causes()
    assert [cause.indices for cause in causes] == [(1,), (0,)]
    assert [float(cause.shifts[0]) for cause in causes] == pytest.approx([3.0, 6.0])
    assert causes[0].evidence - causes[1].evidence < 6.0


@pytest.mark.parametrize(("wider", "as_good"), [(15.0, True), (25.0, False)])
def test_causes_are_told_apart_by_6_of_evidence(wider, as_good) -> None:
    """One uncertainty fits either shape; ln(1 + 16 x 20 x 15²) is 5.4 more than with 1², with 25² 6.4 more."""
    ones = np.ones(20)
    causes, _ = _causes(ones, np.eye(20), np.stack([ones, wider * ones], axis=1))
    assert [cause.indices for cause in causes] == [(0,), (1,)] * as_good + [(0,)] * (not as_good)


def test_four_causes_at_once_are_not_looked_for() -> None:
    shapes = np.kron(np.eye(4), np.ones((5, 1)))
    causes, explained = _causes(6.0 * shapes.sum(axis=1), np.eye(20), shapes)
    assert not explained
    assert {len(cause.indices) for cause in causes} == {3}


def test_a_dimension_that_hardly_bends_the_curve_is_no_candidate() -> None:
    """A part of 1e-6 of the largest information, which goes with the square of a shape."""
    shapes = np.outer(np.ones(20), [1.0, 1e-2, 1e-4])
    assert _search(np.zeros(20), np.eye(20), shapes).determinable == (0, 1)


@pytest.mark.parametrize(("left", "enough"), [(3.29, True), (3.62, False)])
def test_a_cause_is_enough_unless_one_in_a_hundred_leaves_as_much(left, enough) -> None:
    """Of 20 independent points one is 3.29 deviations off in 2 % of cases, and 3.62 in 0.6 %."""
    shape = np.zeros((20, 1))
    shape[:10] = 1.0
    d = 6.0 * shape[:, 0]
    d[15] = left
    causes, explained = _causes(d, np.eye(20), shape)
    by_chance = 1.0 - (2.0 * stats.norm.cdf(left) - 1.0) ** 20
    assert causes[0].test.p_value == pytest.approx(by_chance, abs=4.0 * np.sqrt(by_chance / 4000.0))
    assert [cause.indices for cause in causes] == [(0,)]
    assert explained == enough
