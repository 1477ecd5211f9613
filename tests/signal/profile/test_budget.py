"""Every systematic source as the first-order change (GUM 5.1.3) that its own closed form gives on a measured lever."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.profile.uncertainty.budget import make_budget
from feltload.signal.profile.uncertainty.budget_item import (
    BudgetBasis,
    BudgetItem,
    BudgetSource,
    budget_shares,
)


@pytest.fixture(scope="module")
def measured(measure):
    return measure("lever-row", seed=10, systematic=True)


def item(measured, source):
    return next(item for item in measured.estimate.budget if item.source is source)


def test_gain_and_line_of_pull_are_parts_of_the_force(measured):
    static, known = measured.estimate.static_n, measured.sessions[0].force_uncertainty
    assert known.gain > 0.0
    assert item(measured, BudgetSource.FORCE_GAIN).curve_n == pytest.approx(static * known.gain)
    # A pull off the cell's line by a normal angle of 1 degree: its cosine differs from 1 by half the square, whose
    # standard deviation is u^2 / sqrt(2).
    pull = item(measured, BudgetSource.LINE_OF_PULL)
    assert pull.curve_n == pytest.approx(static * np.radians(1.0) ** 2 / np.sqrt(2.0))
    assert (pull.basis, pull.stated) == (BudgetBasis.DEFAULT, False)


def test_a_wrong_zero_shifts_the_curve_by_itself(measured):
    zero_n = measured.sessions[0].force_uncertainty.zero_n
    assert item(measured, BudgetSource.FORCE_ZERO).curve_n == pytest.approx(zero_n, rel=0.01)


def test_an_unknown_drift_grows_by_a_tenth_of_a_newton_a_minute(measured):
    minutes = (measured.runs[0].force["host_s"].iloc[-1] - measured.runs[0].force["host_s"].iloc[0]) / 60.0
    drift = item(measured, BudgetSource.ZERO_DRIFT)
    assert (drift.basis, drift.stated) == (BudgetBasis.DEFAULT, False)
    # Repetitions are spread over the session: half of the drift at its end.
    assert np.mean(drift.curve_n) == pytest.approx(0.1 * 0.5 * minutes, rel=0.15)


def test_a_wrong_angle_moves_the_force_along_the_curve(measured):
    made, rows = measured.estimate, measured.solved.sessions[0]
    q = made.angle_rad - made.start_angle_rad
    slope = np.gradient(made.static_n[0], q)
    inner = slice(3, -3)

    def curve(source):
        return item(measured, source).curve_n[0][inner]

    assert curve(BudgetSource.START_ANGLE) == pytest.approx(
        -slope[inner] * made.u_start_angle_rad, rel=0.02, abs=0.01
    )
    expected = -slope * rows.aligned.u_reference_rad
    assert curve(BudgetSource.ANGLE_START_STOP) == pytest.approx(expected[inner], rel=0.05, abs=0.002)
    expected = -slope * rows.aligned.u_scale * q
    assert curve(BudgetSource.ANGLE_SCALE) == pytest.approx(expected[inner], rel=0.05, abs=0.002)


def test_a_single_loads_mass_is_at_most_a_part_of_the_force(measured):
    session = measured.sessions[0]
    mass = item(measured, BudgetSource.LOAD_MASS)
    assert mass.curve_n == pytest.approx(measured.estimate.static_n * session.load_u_kg / session.load_kg)
    assert mass.basis is BudgetBasis.STATED_AT_MOST


def test_sizes_and_order_of_a_budget_by_hand():
    small = BudgetItem(BudgetSource.LAG, np.array([[0.0, 2.0]]))
    large = BudgetItem(BudgetSource.FORCE_GAIN, np.array([[-3.0, 3.0]]))
    # Mean squares 2, 9 and 5 N^2.
    budget = make_budget([small, large], np.array([[1.0, 3.0]]))
    assert [entry.source for entry in budget] == [
        BudgetSource.FORCE_GAIN, BudgetSource.REPEATABILITY, BudgetSource.LAG,
    ]  # fmt: skip
    assert [entry.mean_square_n2 for entry in budget] == pytest.approx([9.0, 5.0, 2.0])
    assert [entry.u_n for entry in budget] == pytest.approx([3.0, np.sqrt(5.0), np.sqrt(2.0)])
    assert budget_shares(budget) == pytest.approx([9.0 / 16.0, 5.0 / 16.0, 2.0 / 16.0])
    assert [entry.systematic for entry in budget] == [True, False, True]
    # Only what says so is a default.
    assert all(entry.stated for entry in budget)
