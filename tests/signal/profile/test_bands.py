"""Bands: do they cover, and does the budget add up."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feltload.signal.profile.bands import half_width_95
from feltload.signal.profile.budget_item import BudgetSource, budget_shares
from published_data import published


def test_bands_cover_with_every_error_drawn(measure):
    """Small seeded version of benchmarks/study_coverage.py."""
    machines = ("lever-row", "over-the-top", "four-bar", "fixed-pull")
    sensors = ("ordinary", "cheap")
    inside = []
    for seed in range(32):
        found = measure(machines[seed % 4], sensors=sensors[seed // 4 % 2], seed=50 + seed, systematic=True)
        made, run = found.estimate, found.runs[0]
        truth = run.scenario.static_force_n(made.angle_rad - run.start_angle_rad, float(made.loads_kg[0]))
        inside.append(np.mean(np.abs(made.static_n[0] - truth) <= made.static_u95_n[0]))
    # 32 sessions, each nearly one draw: the mean scatters by about 3.5 %.
    assert 0.85 < np.mean(inside) <= 1.0


def test_budget_adds_up_to_the_covariance(measure):
    made = measure("lever-row", loads=(20.0, 40.0), seed=9, systematic=True).estimate
    squares = sum(item.curve_n**2 for item in made.budget)
    assert np.diag(made.covariance_n2) == pytest.approx(squares.ravel(), rel=1e-9)
    assert sum(budget_shares(made.budget)) == pytest.approx(1.0)
    assert np.all(np.linalg.eigvalsh(made.covariance_n2) > -1e-9)
    assert {item.source for item in made.budget} == set(BudgetSource)
    # What two sessions do not share stands once for each.
    zeros = [item.session for item in made.budget if item.source is BudgetSource.FORCE_ZERO]
    assert len(set(zeros)) == 2


def test_start_angle_moves_the_curve_along_the_travel(measure):
    made = measure("lever-row", seed=10, systematic=True).estimate
    item = next(item for item in made.budget if item.source is BudgetSource.START_ANGLE)
    slope = np.gradient(made.static_n[0], made.angle_rad)
    assert item.curve_n[0][3:-3] == pytest.approx(-slope[3:-3] * made.u_start_angle_rad, rel=0.02, abs=0.01)


def test_half_width_takes_student_factor_where_statistics_dominate():
    # GUM G.4 and table G.2.
    given = published("student")
    found = half_width_95(np.array([1.0]), np.array([1.0]), given["degrees"])[0]
    assert found == pytest.approx(given["factor_95"], abs=0.005)
    assert half_width_95(np.array([1.0]), np.array([0.01]), 4.0)[0] == pytest.approx(
        stats.norm.ppf(0.975), rel=1e-3
    )
