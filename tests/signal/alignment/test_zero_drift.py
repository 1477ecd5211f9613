"""The drift of a cell's zero, against emulated cells whose zero drifts in three ways."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.core import NORMAL_COVERAGE_95
from feltload.emulator import Partner, Person, ZeroDrift, scenario, simulate
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.pipeline import estimate
from feltload.signal.profile.facts import ProfileFact
from feltload.signal.profile.uncertainty.budget_item import BudgetBasis, BudgetSource
from feltload.signal.session import Reference
from profiled_rigs import session_of


def made(drift: ZeroDrift, *, minutes: float = 4.0, seed: int = 1, load_kg: float = 40.0, **given):
    """A run on the rowing lever with this cell."""
    person = Person(repetitions=round(11.5 * minutes))
    scene = scenario("lever-row", person=person, load_kg=load_kg, **given)
    force = replace(scene.sensors.force, drift=drift)
    return simulate(replace(scene, sensors=replace(scene.sensors, force=force)), seed=seed)


def tared(run, name="run"):
    return replace(session_of(run, name), tare_window_s=(0.0, 2.0))


def profiled(*sessions, run):
    return estimate(list(sessions), reference=Reference("lever", run.start_angle_rad, 0.0))


def level_off_n(result, run, index=0):
    q = result.angle_rad - run.start_angle_rad
    return float(
        np.mean(result.static_n[index] - run.scenario.static_force_n(q, float(result.loads_kg[index])))
    )


def reported(result, kind=AlignmentFact.ZERO_DRIFT):
    return [fact for fact in result.warnings if fact.kind is kind]


@pytest.mark.parametrize(
    ("drift", "seed"),
    [(ZeroDrift(0.6), 2), (ZeroDrift(0.0, 5.0, 2.0), 3), (ZeroDrift(0.0, walk_n_rt_min=1.0), 4)],
    ids=["steady", "warm-up", "walk"],
)
def test_a_drift_is_taken_off_and_reported_with_its_band(drift, seed):
    run = made(drift, seed=seed)
    result = profiled(tared(run), run=run)
    true_n = run.errors["force_drift_n"]
    assert abs(true_n) > 0.6
    (fact,) = reported(result)
    assert fact.figure("drift_n") == pytest.approx(true_n, abs=1.5 * fact.figure("u95_n"))
    assert fact.figure("u95_n") < 0.9
    assert not fact.figures["checked"]
    # Left in, about half of it would be in the profile.
    assert abs(level_off_n(result, run)) < 0.3 * abs(true_n)
    (item,) = [item for item in result.budget if item.source is BudgetSource.ZERO_DRIFT]
    assert item.basis is BudgetBasis.REPETITIONS
    assert item.u_n < 0.25


def test_a_zero_that_stays_is_left_where_it_is():
    run = made(ZeroDrift(0.0), minutes=1.0)
    result = profiled(tared(run), run=run)
    assert reported(result) == []
    without = profiled(replace(tared(run), force_uncertainty=no_drift(tared(run))), run=run)
    assert result.static_n == pytest.approx(without.static_n, abs=0.05)
    assert result.friction_n == pytest.approx(without.friction_n, abs=0.02)


def no_drift(session):
    """A cell that is known not to drift."""
    return replace(session.force_uncertainty, drift_rate_n_per_min=1e-4)


def test_a_rest_afterwards_agrees_with_what_the_repetitions_show():
    apart = []
    for seed in (4, 6, 9):
        run = made(ZeroDrift(0.9), minutes=3.0, seed=seed)
        session, after_n = with_zero_afterwards(tared(run))
        result = profiled(session, run=run)
        assert reported(result, AlignmentFact.ZERO_DRIFT_DISAGREES) == []
        assert abs(level_off_n(result, run)) < 0.3
        alone = profiled(tared(run), run=run)
        assert abs(after_n) > 0.5
        for fact in reported(alone):
            apart.append((fact.figure("drift_n") - after_n) / (fact.figure("u95_n") / NORMAL_COVERAGE_95))
    assert len(apart) >= 2
    assert np.max(np.abs(apart)) < 3.0


def with_zero_afterwards(session, hung_n=0.0):
    """The session with the zero of its last second taken as another rest, and what it said."""
    time, force = (session.force[name].to_numpy() for name in ("host_s", "force_n"))
    after_n = float(np.mean(force[time > time[-1] - 1.0])) + hung_n
    line = after_n * np.clip((time - 2.0) / (time[-1] - 2.0), 0.0, 1.0)
    return replace(session, force=session.force.assign(force_n=force - line), zero_after_n=after_n), after_n


def test_a_rest_in_which_something_was_held_is_contradicted():
    run = made(ZeroDrift(0.0), minutes=2.0)
    session, after_n = with_zero_afterwards(tared(run), hung_n=6.0)
    result = profiled(session, run=run)
    (fact,) = reported(result, AlignmentFact.ZERO_DRIFT_DISAGREES)
    assert fact.figure("rests_n") == pytest.approx(after_n)
    assert fact.figure("drift_n") == pytest.approx(0.0, abs=1.5 * fact.figure("u95_n"))
    # What the repetitions say is kept: half of the six newtons would be in the profile otherwise.
    assert abs(level_off_n(result, run)) < 0.5


def test_another_load_is_no_drift():
    """Recordings of 20 and 40 kg differ by what plates weigh, and no zero is made of it."""
    runs = [
        made(ZeroDrift(0.0), minutes=1.0, seed=8 + k, load_kg=load) for k, load in enumerate((20.0, 40.0))
    ]
    result = profiled(*(tared(run, f"run {k}") for k, run in enumerate(runs)), run=runs[0])
    assert reported(result) == []
    assert abs(level_off_n(result, runs[0], 0)) < 0.4
    assert abs(level_off_n(result, runs[0], 1)) < 0.4


def test_hands_that_help_more_and_more_are_hands():
    """A partner in the upper half is no zero: it is found as help, and the zero stays."""
    run = made(ZeroDrift(0.0), minutes=1.0, seed=12)
    helped = made(ZeroDrift(0.0), minutes=1.0, seed=12, partner=Partner(40.0, 0.5, 1.0))
    late = run.truth["t_s"].iloc[-1] * 0.75
    force = run.force["force_n"].where(run.force["host_s"] < late, helped.force["force_n"])
    session = replace(
        tared(run), force=run.force.assign(force_n=force - force[run.force["host_s"] < 2.0].mean())
    )
    result = profiled(session, run=run)
    assert ProfileFact.HALF_REPETITIONS_LEFT_OUT in {fact.kind for fact in result.warnings}
    assert abs(level_off_n(result, run)) < 0.5


def test_friction_is_not_touched_by_a_drift():
    run = made(ZeroDrift(0.8), minutes=3.0, seed=2)
    result = profiled(tared(run), run=run)
    q = result.angle_rad - run.start_angle_rad
    assert np.mean(result.friction_n[0]) == pytest.approx(np.mean(run.scenario.friction_n(q)), rel=0.02)
