"""Coverage factors against the tables of the GUM."""

from __future__ import annotations

import math

import pytest

from feltload.core import EXPANDED_COVERAGE_K, NORMAL_COVERAGE_95, coverage_95


@pytest.mark.parametrize(
    ("degrees_of_freedom", "factor"),
    # JCGM 100:2008, table G.2, column 95 %.
    [(1, 12.71), (2, 4.30), (5, 2.57), (10, 2.23), (20, 2.09), (100, 1.984), (math.inf, 1.960)],
)
def test_student_factors_of_the_gum(degrees_of_freedom: float, factor: float) -> None:
    digits = 3 if factor < 2.0 else 2
    assert round(coverage_95(degrees_of_freedom), digits) == factor


def test_no_degrees_of_freedom_are_refused() -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        coverage_95(0.5)


def test_normal_and_expanded_factors() -> None:
    # JCGM 100:2008, table G.1: 1.960 for 95 %, 2 for 95.45 %.
    assert math.erf(NORMAL_COVERAGE_95 / math.sqrt(2.0)) == pytest.approx(0.95, abs=5e-5)
    assert math.erf(EXPANDED_COVERAGE_K / math.sqrt(2.0)) == pytest.approx(0.9545, abs=5e-5)
