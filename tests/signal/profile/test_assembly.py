"""What a final fit is turned into, and what is refused: one measured lever, its fit changed by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.emulator import Person
from feltload.signal.errors import ProfileError
from feltload.signal.profile.assembly import assemble
from feltload.signal.profile.facts import ProfileFact
from feltload.signal.session import Reference


@pytest.fixture(scope="module")
def measured(measure):
    return measure("lever-row", seed=14, person=Person(repetitions=7))


@pytest.fixture
def assembled(measured):
    """Factory: the profile of the fit with some of its fields changed."""

    def make(*, lags=None, **changed):
        solved = replace(measured.solved, fit=replace(measured.solved.fit, **changed))
        angle, u_angle = measured.runs[0].stated["start_angle_rad"]
        reference = Reference("lever", angle, u_angle, 0.6)
        return assemble(solved, measured.sessions, lags or measured.lags, reference, [])

    return make


def scaled(fit, factor):
    return replace(fit.smoothed, coefficients=fit.smoothed.coefficients * factor)


def test_half_repetitions_are_counted_where_they_went(measured):
    made = measured.estimate
    assert made.raising_count.shape == made.lowering_count.shape == made.static_n.shape
    # Seven repetitions: in the middle of the travel each went up once and down once.
    middle = made.angle_rad.size // 2
    assert (made.raising_count[0, middle], made.lowering_count[0, middle]) == (7, 7)
    assert made.raising_count.max() == made.lowering_count.max() == 7
    assert made.health.movements == 14


def test_rows_used_and_left_out_are_those_with_weight(measured, assembled):
    fit = measured.solved.fit
    weights = fit.weights[0].copy()
    weights[:40] = 0.05
    health = assembled(weights=(weights,)).health
    assert health.rows_used == np.count_nonzero(weights > 0.05)
    share = 1.0 - health.rows_used / weights.size
    assert health.rows_rejected_percent == pytest.approx(100.0 * share, abs=0.006)
    assert health.residual_n == pytest.approx(fit.scale_n, abs=5e-5)


def test_a_half_repetition_of_little_weight_is_not_counted(measured, assembled):
    rows, fit = measured.solved.sessions[0], measured.solved.fit
    first_up = next(number for number in np.unique(rows.run) if rows.runs[number].direction > 0)
    own = rows.run == first_up
    middle = measured.estimate.angle_rad.size // 2

    def raising(weight, **changed):
        made = assembled(weights=(np.where(own, weight, fit.weights[0]),), **changed)
        return made.raising_count[0, np.argmin(np.abs(made.angle_rad - measured.estimate.angle_rad[middle]))]

    assert raising(0.21) == 7
    assert raising(0.19) == 6
    # One of which the upper half was left out did not go through the middle of it.
    high = measured.estimate.angle_rad[middle] - measured.estimate.start_angle_rad - 0.1
    assert raising(1.0, kept=(fit.kept[0] & ~(own & (rows.q_rad > high)),)) == 6


def test_travel_passed_one_way_only_gives_no_profile(measured, assembled):
    rows, fit = measured.solved.sessions[0], measured.solved.fit
    up = np.array([run.direction > 0 for run in rows.runs])[rows.run]
    with pytest.raises(ProfileError, match="no part of the travel was passed both raising and lowering"):
        assembled(weights=(np.where(up, fit.weights[0], 0.0),))


def test_what_did_not_agree_is_told(measured, assembled):
    rows, fit = measured.solved.sessions[0], measured.solved.fit
    assert ProfileFact.HALF_REPETITIONS_LEFT_OUT not in {fact.kind for fact in measured.estimate.warnings}
    part = np.isin(rows.run, np.unique(rows.run)[:4]) & (rows.q_rad > np.median(rows.q_rad))
    found = assembled(
        kept=(fit.kept[0] & ~part,), residuals_n=(np.where(part, 40.0, fit.residuals_n[0]),)
    )  # fmt: skip
    told = [fact for fact in found.warnings if fact.kind is ProfileFact.HALF_REPETITIONS_LEFT_OUT]
    assert [(fact.figures["way"], fact.figures["count"], fact.figures["of"]) for fact in told] == [
        ("raising", 2, 7), ("lowering", 2, 7),
    ]  # fmt: skip


def test_a_force_that_scatters_like_its_peak_does_not_follow_the_arm(measured, assembled):
    peak = float(np.max(np.abs(measured.estimate.static_n)))
    assembled(scale_n=0.95 * peak)
    with pytest.raises(ProfileError, match="does not follow the arm"):
        assembled(scale_n=1.05 * peak)
    # A lag that could not be found is a doubt more: 6 % is enough.
    unknown = [replace(lag, known=False) for lag in measured.lags]
    assembled(scale_n=0.055 * peak, lags=unknown)
    with pytest.raises(ProfileError, match="does not follow the arm"):
        assembled(scale_n=0.065 * peak, lags=unknown)


def test_no_force_and_too_much_are_refused(measured, assembled):
    fit, peak = measured.solved.fit, float(np.max(np.abs(measured.estimate.static_n)))
    with pytest.raises(ProfileError, match="hardly any force was felt"):
        assembled(smoothed=scaled(fit, 0.45 / peak), scale_n=0.01)
    felt = float(np.max(np.abs(fit.forces_n[0])))
    assembled(smoothed=scaled(fit, 4.9 * felt / peak))
    with pytest.raises(ProfileError, match="did not settle"):
        assembled(smoothed=scaled(fit, 5.1 * felt / peak))
    with pytest.raises(ProfileError, match="did not settle"):
        assembled(smoothed=scaled(fit, -5.1 * felt / peak))
