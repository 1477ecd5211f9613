"""From two streams on two clocks to a profile, nothing known but what a user knows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.emulator import Person, scenario, simulate
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.errors import ProfileError
from feltload.signal.force_uncertainty import ForceUncertainty
from feltload.signal.pipeline import estimate
from feltload.signal.session import Reference, Session


def session_of(run, load_kg=40.0):
    """The run as a session tared over its first two seconds."""
    rest = run.force["force_n"][run.force["host_s"] < 2.0]
    return Session(
        name="run",
        force=run.force.assign(force_n=run.force["force_n"] - rest.median()),
        inertial=run.inertial,
        load_kg=load_kg,
        knocks_host_s=run.knocks_s,
        force_uncertainty=ForceUncertainty(gain=1e-4, zero_n=0.1, gain_stated=True, zero_stated=True),
    )


def measured(run, session=None):
    made = estimate([session or session_of(run)], reference=Reference("rig", run.start_angle_rad, 0.0))
    truth = run.scenario.static_force_n(made.angle_rad - run.start_angle_rad)
    return made, float(np.sqrt(np.mean((made.static_n[0] - truth) ** 2)) / np.max(np.abs(truth)))


@pytest.mark.parametrize(
    ("machine", "sensors", "tempo", "limit"),
    [
        ("lever-row", "ordinary", "mixed", 1e-3),
        ("over-the-top", "ordinary", "brisk", 2e-3),
        ("four-bar", "cheap", "mixed", 3e-3),
        ("inclined-lever", "ordinary", "mixed", 1.5e-3),
    ],
)
def test_profile_from_two_clocks(machine, sensors, tempo, limit):
    run = simulate(scenario(machine, sensors=sensors, tempo=tempo), seed=21)
    made, error = measured(run)
    assert error < limit
    assert abs(made.lag.value_s - run.true_lag_s) < 4 * made.lag.u_s + 1e-3


def test_knocks_are_read_beside_the_dynamics():
    run = simulate(scenario("lever-row", person=Person(handle_knocks=3)), seed=22)
    made, error = measured(run)
    assert {reading.method for reading in made.lag.readings} == {"dynamics", "knock"}
    assert made.lag.agree
    assert error < 1e-3


@pytest.mark.parametrize(("stream", "latency_s"), [("force", 0.140), ("inertial", 0.034)])
def test_lag_of_either_sign(stream, latency_s):
    scene = scenario("lever-row")
    late = replace(getattr(scene.sensors, stream), latency_s=latency_s)
    run = simulate(replace(scene, sensors=replace(scene.sensors, **{stream: late})), seed=23)
    made, error = measured(run)
    assert made.lag.value_s == pytest.approx(run.true_lag_s, abs=0.002)
    assert error < 1.5e-3


def test_a_poor_first_lag_does_not_stiffen_the_inertia():
    # One brisk tempo under a line of pull that nothing states: the smoothness has two likely values here.
    run = simulate(scenario("fixed-pull", tempo="brisk"), seed=17)
    made, error = measured(run)
    assert made.lag.value_s == pytest.approx(run.true_lag_s, abs=0.001)
    assert error < 1e-3


@pytest.mark.parametrize("shift_s", [0.6, -0.4])
def test_clocks_joined_badly_are_found_and_said(shift_s):
    run = simulate(scenario("lever-row"), seed=23)
    session = session_of(run)
    moved = replace(session, force=session.force.assign(host_s=session.force["host_s"] + shift_s))
    made, error = measured(run, moved)
    assert made.lag.value_s == pytest.approx(run.true_lag_s + shift_s, abs=0.002)
    assert error < 1.5e-3
    (large,) = [fact for fact in made.warnings if fact.kind == AlignmentFact.LAG_LARGE]
    assert large.figure("lag_s") == made.lag.value_s


def test_force_of_something_else_is_refused():
    run = simulate(scenario("lever-row"), seed=26)
    session = session_of(run)
    pull = np.random.default_rng(1).normal(0.0, 50.0, len(session.force))
    with pytest.raises(ProfileError, match="does not follow the arm"):
        measured(run, replace(session, force=session.force.assign(force_n=pull)))


@pytest.mark.parametrize("machine", ["lever-row", "rising-arm", "fixed-pull", "cam-drum"])
@pytest.mark.parametrize("mistake", ["backwards", "another session's", "three seconds off"])
def test_streams_that_do_not_belong_together_are_refused(machine, mistake):
    run = simulate(scenario(machine), seed=1)
    session = session_of(run)
    force = {
        "backwards": session.force.assign(force_n=session.force["force_n"].to_numpy()[::-1]),
        "another session's": session_of(simulate(scenario(machine), seed=2)).force,
        "three seconds off": session.force.assign(host_s=session.force["host_s"] - 3.0),
    }[mistake]
    with pytest.raises(ProfileError, match=r"does not follow the arm|do not belong together"):
        measured(run, replace(session, force=force))


def test_force_at_ten_hertz_is_enough():
    scene = scenario("lever-row")
    slow = replace(scene.sensors.force, rate_hz=10.0, low_pass_hz=4.5)
    made, error = measured(simulate(replace(scene, sensors=replace(scene.sensors, force=slow)), seed=24))
    assert error < 2e-3
    assert made.health.cutoff_hz == pytest.approx(3.0, abs=0.1)


def test_a_gap_in_the_force_costs_only_its_own_samples():
    run = simulate(scenario("lever-row"), seed=25)
    session = session_of(run)
    time = session.force["host_s"]
    cut = replace(session, force=session.force[(time < 20) | (time > 24)].reset_index(drop=True))
    assert measured(run, cut)[1] < 1.5e-3


def test_cell_wired_backwards_is_said():
    run = simulate(scenario("lever-row"), seed=26)
    session = session_of(run)
    turned = replace(session, force=session.force.assign(force_n=-session.force["force_n"]))
    with pytest.raises(ProfileError, match="wrong way round"):
        measured(run, turned)


def test_dead_cell_and_nothing_at_all_are_errors():
    run = simulate(scenario("lever-row"), seed=26)
    session = session_of(run)
    with pytest.raises(ProfileError, match="hardly any force"):
        measured(run, replace(session, force=session.force.assign(force_n=0.0)))
    with pytest.raises(ProfileError, match="has only 3 samples"):
        measured(run, replace(session, force=session.force.head(3)))
    with pytest.raises(ProfileError, match="no session"):
        estimate([], reference=Reference("rig", 0.0, 0.0))


@pytest.mark.parametrize("late_s", [12.0, 25.0])
@pytest.mark.parametrize("machine", ["lever-row", "over-the-top"])
def test_an_inertial_stream_that_begins_in_mid_set_counts_from_the_start_stop(machine, late_s):
    run = simulate(scenario(machine), seed=5)
    session = replace(session_of(run), tare_window_s=(0.0, 2.0))
    late = session.inertial[session.inertial["host_s"] > late_s].reset_index(drop=True)
    made, error = measured(run, replace(session, inertial=late))
    assert error < 5e-3
    truth = run.scenario.static_force_n(made.angle_rad - run.start_angle_rad)
    assert np.mean(np.abs(made.static_n[0] - truth) > made.static_u95_n[0]) < 0.05


@pytest.mark.parametrize("stream", ["inertial", "force"])
def test_a_repetition_cut_by_a_hole_is_not_complete(stream):
    run = simulate(scenario("lever-row"), seed=5)
    session = session_of(run)
    whole, _ = measured(run, session)
    second = whole.repetitions[1]
    begins, ends = (
        second.start_s + 0.4 * second.concentric_s,
        second.start_s + 0.4 * second.concentric_s + 0.6,
    )
    frame = getattr(session, stream)
    cut = frame[(frame["host_s"] < begins) | (frame["host_s"] > ends)].reset_index(drop=True)
    made, error = measured(run, replace(session, **{stream: cut}))
    assert error < 1e-3
    near = [r for r in made.repetitions if r.start_s < ends and r.end_s > begins]
    assert not any(r.complete for r in near)
    assert sum(r.complete for r in made.repetitions) == sum(r.complete for r in whole.repetitions) - 1
