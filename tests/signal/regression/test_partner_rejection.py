"""A partner who pushes in a third and more of the repetitions, against the truth of the emulated machine."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from feltload.emulator import Partner, Person, scenario, simulate
from feltload.signal.force_uncertainty import ForceUncertainty
from feltload.signal.movement.movements import without_trends
from feltload.signal.pipeline import estimate
from feltload.signal.profile.facts import ProfileFact
from feltload.signal.regression.trimmed_fit import BINS, closest_halves, nearer_half
from feltload.signal.session import Reference, Session


def left_out(made):
    return [fact for fact in made.warnings if fact.kind == ProfileFact.HALF_REPETITIONS_LEFT_OUT]


def helped_run(name, partner, helped, *, sensors="ordinary", tempo="mixed", seed=0, person=None):
    """The run, and the same one with the partner's hands in the repetitions `helped`.

    One seed draws one session, with or without a partner: the helped repetitions' samples are taken from the run
    in which the partner pushes all the time.
    """
    scene = scenario(name, sensors=sensors, tempo=tempo, person=person)
    run, pushed = simulate(scene, seed=seed), simulate(replace(scene, partner=partner), seed=seed)
    time, q = run.truth["t_s"].to_numpy(), run.truth["q_rad"].to_numpy()
    raised = q > 0.5 * np.max(q)
    tops = np.flatnonzero(np.diff(raised.astype(int)) > 0)
    ends = np.flatnonzero(np.diff(raised.astype(int)) < 0)
    # Cut at the lowest point between two repetitions.
    cuts = [0, *(a + int(np.argmin(q[a:b])) for a, b in zip(ends[:-1], tops[1:], strict=True)), time.size - 1]
    sample = run.force["host_s"].to_numpy() - run.force_delay_s
    repetition = np.searchsorted(time[cuts[1:-1]], sample)
    force = np.where(np.isin(repetition, helped), pushed.force["force_n"], run.force["force_n"])
    return run, run.force.assign(force_n=force)


def session_of(run, force):
    rest = force["force_n"][force["host_s"] < 2.0]
    return Session(
        name="run",
        force=force.assign(force_n=force["force_n"] - rest.mean()),
        inertial=run.inertial,
        load_kg=40.0,
        force_uncertainty=ForceUncertainty(gain=1e-4, zero_n=0.1, gain_stated=True, zero_stated=True),
    )


def measured(run, force):
    made = estimate([session_of(run, force)], reference=Reference("rig", run.start_angle_rad, 0.0))
    truth = run.scenario.static_force_n(made.angle_rad - run.start_angle_rad)
    return made, float(np.sqrt(np.mean((made.static_n[0] - truth) ** 2)) / np.max(np.abs(truth)))


LATE = (5, 6, 7, 8)


@pytest.mark.parametrize(
    ("name", "partner", "helped", "how"),
    [
        ("lever-row", Partner(60.0, 0.5, 1.2), LATE, {}),
        ("lever-row", Partner(15.0, 0.3, 1.2), LATE, {"sensors": "cheap"}),
        ("rising-arm", Partner(45.0, 0.3, 1.2, lowering=False), LATE, {"tempo": "brisk"}),
        ("rising-arm", Partner(-60.0, -0.2, 0.5), (2, 6, 8), {"sensors": "cheap"}),
        ("over-the-top", Partner(-40.0, -0.2, 0.5), LATE, {}),
        ("fixed-pull", Partner(40.0, -0.2, 1.2), LATE, {}),
        ("four-bar", Partner(50.0, 0.3, 1.2), (1, 4, 6, 7), {}),
        ("four-bar", Partner(-45.0, -0.2, 0.6), (0, 3, 4, 8), {"tempo": "brisk"}),
        ("cam-drum", Partner(30.0, -0.2, 1.2, lowering=False), LATE, {"tempo": "slow"}),
    ],
)
def test_four_of_nine_repetitions_helped_or_resisted_leave_the_profile(name, partner, helped, how):
    run, force = helped_run(name, partner, helped, seed=3, **how)
    clean, clean_error = measured(run, run.force)
    made, error = measured(run, force)
    assert error < clean_error + 3e-3
    assert made.lag.value_s == pytest.approx(run.true_lag_s, abs=0.006)
    assert any(
        (fact.figures["count"], fact.figures["of"]) == (len(helped), 9)
        and np.sign(fact.figure("apart_n")) == -np.sign(partner.force_n)
        for fact in left_out(made)
    )
    # The band may grow, but not hide what was saved.
    assert np.median(made.static_u95_n) < 3.0 * np.median(clean.static_u95_n)


def test_what_was_not_pushed_of_a_helped_repetition_is_kept():
    run, force = helped_run("lever-row", Partner(50.0, 0.65, 1.2), LATE, seed=5)
    made, _ = measured(run, force)
    share = (made.angle_rad - run.start_angle_rad) / run.scenario.machine.travel_rad
    low, high = (share > 0.1) & (share < 0.4), (share > 0.75) & (share < 0.82)
    assert np.all(made.raising_count[0, low] >= 9)
    assert np.all(made.raising_count[0, high] == 5)
    assert np.all(made.lowering_count[0, high] == 5)


@pytest.mark.parametrize("habit", [{}, {"cheat_share": 0.6}, {"pause_s": 2.0}, {"letgo_share": 0.5}])
@pytest.mark.parametrize(("name", "tempo"), [("lever-row", "brisk"), ("sticky-lever", "mixed")])
def test_momentum_pauses_and_hands_off_are_not_taken_for_a_partner(name, tempo, habit):
    run = simulate(scenario(name, tempo=tempo, person=Person(**habit)), seed=9)
    made, error = measured(run, run.force)
    assert not left_out(made)
    assert error < 2e-3


def test_help_in_most_repetitions_cannot_be_known_but_is_said():
    run, force = helped_run("lever-row", Partner(40.0, 0.4, 1.2), (3, 4, 5, 6, 7, 8), seed=7)
    made, error = measured(run, force)
    assert error > 0.02
    assert any(
        fact.figures["split"]
        and fact.figures["way"] == "raising"
        and fact.figure("apart_n") == pytest.approx(40.0, abs=2.0)
        for fact in left_out(made)
    )


def test_of_two_repetitions_neither_is_left_out():
    run, force = helped_run("lever-row", Partner(40.0, 0.4, 1.2), (1,), seed=7, person=Person(repetitions=2))
    made, _ = measured(run, force)
    assert not left_out(made)
    assert any(fact.kind == ProfileFact.SCATTER for fact in made.warnings)


def test_closest_half_is_the_one_found_by_trying_all():
    rng = np.random.default_rng(4)
    means = rng.normal(0.0, 1.0, (9, BINS)) + np.where(np.arange(9) < 5, 30.0, 0.0)[:, None]
    means[2, 3] = np.nan
    group = np.zeros(9, dtype=np.int64)
    found = closest_halves(means, group)
    for bin_ in range(BINS):
        values = means[np.isfinite(means[:, bin_]), bin_]
        half = values.size // 2 + 1
        best = min(combinations(values, half), key=np.ptp)
        assert found[0, bin_] == pytest.approx(np.mean(best))
    kept = nearer_half(np.abs(means - 30.0), group)
    assert np.all(kept.sum(axis=0) == 5)
    assert not kept[2, 3]


def test_a_steady_push_leaves_nothing_within_its_pass():
    run = np.repeat([0, 1], 30)
    q = np.tile(np.linspace(0.0, 1.2, 30), 2)
    values = np.stack([np.sin(5.0 * q) + 40.0 * (run == 1), np.sin(5.0 * q)], axis=1)
    less = without_trends(run, q, values)
    assert less[:, 0] == pytest.approx(less[:, 1], abs=1e-9)
    assert np.max(np.abs(less)) > 0.1
