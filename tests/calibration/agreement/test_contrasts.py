"""The test over a whole curve against closed forms."""

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


def test_what_is_left_after_a_shape_is_taken_out() -> None:
    """The mean taken out of 4, 2, 3, 3: 1 over the root of 1 - 1/4 is left."""
    contrasts = Contrasts(np.array([4.0, 2.0, 3.0, 3.0]), np.eye(4), np.ones((4, 1)), FLAT)
    assert contrasts.test().largest == pytest.approx(6.0)
    assert contrasts.test(np.ones((4, 1))).largest == pytest.approx(1.0 / np.sqrt(0.75))
    # A curve of one point has nothing left to test.
    single = Contrasts(np.array([9.0]), np.eye(1), np.ones((1, 1)), FLAT).test(np.ones((1, 1)))
    assert (single.largest, single.p_value) == (0.0, 1.0)
