"""The band of whole curves: against draws of known correlation, and the limits that are known without any."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feltload.coaching.statistics.whole_curve import degrees_of_freedom, whole_curve_factor

PLACES = np.linspace(0.0, 1.0, 41)


def smooth(length: float) -> np.ndarray:
    return np.exp(-0.5 * ((PLACES[:, None] - PLACES) / length) ** 2) + 1e-9 * np.eye(PLACES.size)


@pytest.mark.parametrize("length", [0.05, 0.3])
@pytest.mark.parametrize(("coverage", "freedom"), [(1.96, np.inf), (stats.t(12).ppf(0.975), 12)])
def test_one_curve_in_twenty_leaves_the_band(length, coverage, freedom):
    """100 times 400 draws of a Gaussian or Student process, the truth written apart from the formula."""
    rng = np.random.default_rng(7)
    draws = rng.standard_normal((40000, PLACES.size)) @ np.linalg.cholesky(smooth(length)).T
    if np.isfinite(freedom):
        draws /= np.sqrt(rng.chisquare(freedom, (40000, 1)) / freedom)
    most = np.abs(draws).max(axis=1)
    for curves in (1, 20):
        factor = whole_curve_factor(smooth(length), coverage=coverage, curves=curves)
        left = np.mean(most > factor)
        assert left <= 0.05 / curves + 3.0 * np.sqrt(0.05 / curves / 40000)
        assert left >= 0.6 * 0.05 / curves


def test_a_curve_that_moves_as_one_has_the_band_of_a_position():
    assert whole_curve_factor(np.ones((9, 9)), coverage=1.96) == pytest.approx(1.96, abs=1e-4)
    assert whole_curve_factor(4.0 * np.ones((9, 9)), coverage=2.228) == pytest.approx(2.228, abs=1e-3)


def test_independent_positions_and_curves_are_those_of_bonferroni():
    for n, curves in ((1, 30), (10, 1), (10, 6)):
        factor = whole_curve_factor(np.eye(n), coverage=1.96, curves=curves)
        assert factor == pytest.approx(stats.norm.isf(0.025 / (n * curves)), rel=1e-6)


def test_degrees_of_freedom_of_a_coverage_factor():
    """JCGM 100:2008, table G.2: 2.23 at ten degrees of freedom, 12.71 at one (values from memory)."""
    assert degrees_of_freedom(2.228) == pytest.approx(10.0, abs=0.01)
    assert degrees_of_freedom(12.706) == pytest.approx(1.0, abs=1e-3)
    assert np.isinf(degrees_of_freedom(1.96))
    assert degrees_of_freedom(40.0) == 1.0
