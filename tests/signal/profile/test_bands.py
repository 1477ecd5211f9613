"""Bands: do they cover, and does the budget add up."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from feltload.signal.profile.uncertainty.bands import half_width_95, statistical_covariance
from feltload.signal.profile.uncertainty.budget_item import BudgetSource, budget_shares
from published_data import published


def test_bands_are_as_wide_as_the_error_with_every_error_drawn(measure):
    """Small seeded version of benchmarks/study_coverage.py, with a limit on either side."""
    machines = ("lever-row", "over-the-top", "four-bar", "fixed-pull")
    sensors = ("ordinary", "cheap")
    inside, squares = [], []
    for seed in range(16):
        found = measure(machines[seed % 4], sensors=sensors[seed // 4 % 2], seed=50 + seed, systematic=True)
        made, run = found.estimate, found.runs[0]
        truth = run.scenario.static_force_n(made.angle_rad - run.start_angle_rad, float(made.loads_kg[0]))
        error = (made.static_n[0] - truth) / made.static_u95_n[0]
        inside.append(np.mean(np.abs(error) <= 1.0))
        squares.append(np.mean((1.96 * error) ** 2))
    # 16 sessions, each nearly one draw: the mean scatters by about 5 %, the error over its uncertainty by 18 %.
    assert np.mean(inside) > 0.85
    assert 0.6 < np.sqrt(np.mean(squares)) < 1.3


def solved_elsewhere(design, residual, run, *, penalty=0.0, dilution=1.0, variance=1.0, weight=None):
    """A penalised fit written out: what bands read of it, and nothing else."""
    weight = np.ones(residual.size) if weight is None else weight
    size = design.shape[1]
    data = dilution * design.T @ (design * weight[:, None])
    total = data + penalty * np.eye(size)
    fit = SimpleNamespace(
        smoothed=SimpleNamespace(variance=variance),
        designs=(design,),
        weights=(weight,),
        residuals_n=(residual,),
        dilution=dilution,
    )
    return SimpleNamespace(
        sessions=(SimpleNamespace(run=run),),
        layout=SimpleNamespace(size=size),
        fit=fit,
        inverse=np.linalg.inv(total),
        data=data,
        penalised=total,
    )


def mean_of_runs(run_means, per_run, variance, *, angles=4, **given):
    """Band of a constant force that every run shows a little differently, at some angles."""
    means = np.asarray(run_means, float)
    residual = np.repeat(means - means.mean(), per_run)
    run = np.repeat(np.arange(means.size), per_run)
    solved = solved_elsewhere(np.ones((residual.size, 1)), residual, run, variance=variance, **given)
    return statistical_covariance(solved, np.ones((angles, 1)), angles=angles)


RUN_MEANS_N = [10.0, 12.0, 9.0, 11.0, 13.0]


def test_residuals_that_hang_together_by_run_count_as_many_as_there_are_runs():
    # 50 rows a run, but a run is one reading: the mean of 10, 12, 9, 11, 13 N has the variance 2.5 / 5 (GUM 4.2.3),
    # and Student's factor of 4 degrees of freedom (GUM, table G.2).
    spread, freedom = mean_of_runs(RUN_MEANS_N, 50, variance=2.0)
    assert spread == pytest.approx(np.full((4, 4), 0.5))
    assert freedom == 4.0
    u = np.sqrt(np.diag(spread))
    assert half_width_95(u, u, freedom) == pytest.approx(np.full(4, 2.776 * np.sqrt(0.5)), rel=1e-3)


def test_diluted_rows_do_not_change_what_runs_show():
    spread, freedom = mean_of_runs(RUN_MEANS_N, 50, variance=2.0, dilution=0.3)
    assert (spread[0, 0], freedom) == (pytest.approx(0.5), 4.0)


def test_runs_that_agree_leave_the_noise_of_the_rows():
    # 250 rows of variance 2: 2 / 250; the runs' means scatter less than that.
    spread, freedom = mean_of_runs([10.0, 10.01, 10.0, 9.99, 10.0], 50, variance=2.0)
    assert spread == pytest.approx(np.full((4, 4), 2.0 / 250.0))
    assert freedom == 4.0


def test_widening_ends_at_twenty_times():
    spread, _ = mean_of_runs(RUN_MEANS_N, 50, variance=1e-9)
    assert np.sqrt(spread[0, 0]) == pytest.approx(20.0 * np.sqrt(1e-9 / 250.0))


@pytest.mark.parametrize("runs", [1, 2])
def test_one_run_or_two_show_no_scatter_and_hardly_a_degree_of_freedom(runs):
    spread, freedom = mean_of_runs(RUN_MEANS_N[:runs], 50, variance=2.0)
    assert spread == pytest.approx(np.full((4, 4), 2.0 / (50.0 * runs)))
    assert freedom == 1.0


def test_three_runs_are_enough():
    spread, freedom = mean_of_runs([9.0, 10.0, 11.0], 50, variance=2.0)
    assert (spread[0, 0], freedom) == (pytest.approx(1.0 / 3.0), 2.0)


def test_a_run_without_weight_is_no_run():
    weight = np.repeat([1.0, 1.0, 1.0, 1.0, 1.0, 0.0], 50)
    # One row without weight takes no run away.
    weight[0] = 0.0
    means = np.array([*RUN_MEANS_N, 500.0])
    residual = np.repeat(means - 11.0, 50)
    run = np.repeat(np.arange(6), 50)
    solved = solved_elsewhere(np.ones((300, 1)), residual, run, variance=2.0, weight=weight)
    spread, freedom = statistical_covariance(solved, np.ones((4, 1)), angles=4)
    assert (spread[0, 0], freedom) == (pytest.approx(0.5, rel=0.02), 4.0)


def test_many_runs_are_dealt_out_in_turn():
    # Runs 1, 49, 97 make the first of 48 clusters, and so on: the variance of the mean of 48 cluster means.
    means = np.random.default_rng(2).normal(10.0, 1.0, 144)
    spread, freedom = mean_of_runs(means, 5, variance=1.0)
    clusters = means.reshape(3, 48).mean(axis=0)
    assert spread[0, 0] == pytest.approx(np.var(clusters, ddof=1) / 48)
    assert freedom == 47.0


def test_a_penalised_fit_is_widened_by_what_leaving_out_each_run_really_does():
    # Cameron & Miller (2015), the jackknife CV3: every run left out and fitted again.
    rng = np.random.default_rng(3)
    runs, per_run, dilution, penalty = 7, 30, 0.4, 5.0
    run = np.repeat(np.arange(runs), per_run)
    design = rng.normal(size=(run.size, 3)) + rng.normal(size=(runs, 3))[run]
    force = design @ [3.0, -2.0, 1.0] + rng.normal(size=runs)[run] + 0.1 * rng.normal(size=run.size)
    weight = rng.uniform(0.2, 1.0, run.size)

    def fitted(rows):
        weighted = dilution * design[rows] * weight[rows, None]
        return np.linalg.solve(design[rows].T @ weighted + penalty * np.eye(3), weighted.T @ force[rows])

    whole = fitted(np.ones(run.size, dtype=bool))
    solved = solved_elsewhere(
        design, force - design @ whole, run,
        penalty=penalty, dilution=dilution, variance=0.02, weight=weight,
    )  # fmt: skip
    operator = np.array([[1.0, 0.5, -0.3]])
    spread, freedom = statistical_covariance(solved, operator, angles=1)
    moved = np.array([operator @ (fitted(run != k) - whole) for k in range(runs)])
    noise = 0.02 * operator @ solved.inverse @ solved.data @ solved.inverse @ operator.T
    base = 0.02 * operator @ solved.inverse @ operator.T
    expected = base * (runs - 1) / runs * np.sum(moved**2) / noise
    assert expected[0, 0] > base[0, 0]
    assert spread == pytest.approx(expected)
    assert freedom == 6.0


def test_widening_is_pooled_over_a_third_of_the_travel_and_not_between_loads():
    # Two unknowns, one of which moves from run to run: ten angles show the steady one, ten the other; a second load
    # shows the steady one throughout.
    rng = np.random.default_rng(4)
    runs, per_run = 9, 40
    run = np.repeat(np.arange(runs), per_run)
    half = np.tile(np.arange(per_run) < per_run // 2, runs)
    design = np.stack([half, ~half], axis=1).astype(float)
    means = rng.normal(size=runs)
    residual = np.where(half, 0.0, (means - means.mean())[run])
    solved = solved_elsewhere(design, residual, run, variance=0.5)
    first, second = np.repeat([[1.0, 0.0]], 10, axis=0), np.repeat([[0.0, 1.0]], 10, axis=0)
    operator = np.concatenate([first, second, first, first])
    spread, _ = statistical_covariance(solved, operator, angles=20)
    base = 0.5 / (runs * per_run / 2)
    widened = np.diag(spread) / base
    ratio = np.var(means, ddof=1) / runs / base
    # Six angles pooled: beyond three from the border only the own kind is seen, at it half of either.
    assert widened[:7] == pytest.approx(np.ones(7))
    assert widened[13:20] == pytest.approx(np.full(7, ratio))
    assert widened[10] == pytest.approx(0.5 * ratio, rel=0.2)
    assert widened[20:] == pytest.approx(np.ones(20))
    # What is widened moves together as before.
    assert spread[13, 19] == pytest.approx(base * ratio)


def test_budget_adds_up_to_the_covariance(measure):
    measured = measure("lever-row", loads=(20.0, 40.0), seed=9, systematic=True)
    made = measured.estimate
    squares = sum(item.curve_n**2 for item in made.budget)
    assert np.diag(made.covariance_n2) == pytest.approx(squares.ravel(), rel=1e-9)
    assert sum(budget_shares(made.budget)) == pytest.approx(1.0)
    assert np.all(np.linalg.eigvalsh(made.covariance_n2) > -1e-9)
    elsewhere = {
        BudgetSource.SCALE_RESOLUTION,
        BudgetSource.POSITION_READING,
        BudgetSource.BETWEEN_STOPS,
        BudgetSource.FRICTION,
        BudgetSource.DIMENSION,
        BudgetSource.GRAVITY,
    }
    assert {item.source for item in made.budget} == set(BudgetSource) - elsewhere
    # What two sessions do not share stands once for each, and moves the load of its own session only.
    zeros = {item.session: item.curve_n for item in made.budget if item.source is BudgetSource.FORCE_ZERO}
    for own, session in enumerate(measured.sessions):
        zero_n = session.force_uncertainty.zero_n
        assert zeros[session.name][own] == pytest.approx(zero_n, rel=0.03)
        assert zeros[session.name][1 - own] == pytest.approx(0.0, abs=0.03 * zero_n)


def test_half_width_takes_student_factor_where_statistics_dominate():
    # GUM G.4 and table G.2.
    given = published("student")
    found = half_width_95(np.array([1.0]), np.array([1.0]), given["degrees"])[0]
    assert found == pytest.approx(given["factor_95"], abs=0.005)
    assert half_width_95(np.array([1.0]), np.array([0.01]), 4.0)[0] == pytest.approx(
        stats.norm.ppf(0.975), rel=1e-3
    )
    # One degree of freedom: 12.71 (table G.2).
    assert half_width_95(np.array([2.0]), np.array([2.0]), 1.0)[0] == pytest.approx(2.0 * 12.706, rel=1e-4)
    # Half the variance from 4 degrees of freedom: 4 / (1/2)^2 = 16 (Welch-Satterthwaite, GUM G.2b); t_16 = 2.12.
    assert half_width_95(np.array([np.sqrt(2.0)]), np.array([1.0]), 4.0)[0] == pytest.approx(
        stats.t.ppf(0.975, 16) * np.sqrt(2.0), rel=1e-6
    )
