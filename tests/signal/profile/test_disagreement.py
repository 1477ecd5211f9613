"""Sessions that are not of one machine alone: hands that differ each time, and two machines; the truth is emulated."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.emulator import Partner, Person, scenario, simulate
from feltload.signal.errors import ProfileError
from feltload.signal.pipeline import estimate
from feltload.signal.profile.facts import ProfileFact
from feltload.signal.session import Reference
from profiled_rigs import session_of

SHAKY = Person(touch_share=0.3, partial_share=0.2, cheat_share=0.3, knock_share=0.2, letgo_share=0.1)


def run_of(machine, sensors, seed, *, partner=None, tempo="mixed", person=None, load_kg=40.0):
    scene = scenario(machine, sensors=sensors, tempo=tempo, person=person, partner=partner, load_kg=load_kg)
    return simulate(scene, seed=seed)


def helped_each_time(machine, sensors, seed):
    """Every repetition helped by another force, over another part of the travel."""
    rng = np.random.default_rng(seed)
    run = run_of(machine, sensors, seed)
    q, time_s = run.truth["q_rad"].to_numpy(), run.truth["t_s"].to_numpy()
    low = np.concatenate([[False], (q[1:-1] < q[:-2]) & (q[1:-1] <= q[2:]), [False]])
    rising = np.flatnonzero(np.diff((q > 0.5 * q.max()).astype(int)) > 0)
    cuts = [time_s[np.flatnonzero(low[:at])[-1]] if low[:at].any() else 0.0 for at in rising[1:]]
    number = np.searchsorted(cuts, run.force["host_s"] - run.force_delay_s)
    force = run.force["force_n"].to_numpy().copy()
    for repetition in range(number.max() + 1):
        partner = Partner(float(rng.uniform(20.0, 60.0)), float(rng.uniform(0.3, 0.5)), 1.0)
        pushed = run_of(machine, sensors, seed, partner=partner).force["force_n"].to_numpy()
        force = np.where(number == repetition, pushed, force)
    return replace(run, force=run.force.assign(force_n=force))


def kinds(run):
    made = estimate([session_of(run)], reference=Reference("machine", run.start_angle_rad, 0.0))
    return {fact.kind for fact in made.warnings}


@pytest.mark.parametrize(("machine", "sensors"), [("lever-row", "ordinary"), ("four-bar", "cheap")])
def test_hands_that_differ_each_time_are_told(machine, sensors):
    assert ProfileFact.HALF_REPETITIONS_DIFFER in kinds(helped_each_time(machine, sensors, 5))


@pytest.mark.parametrize(
    ("machine", "sensors", "tempo"),
    [("cam-drum", "cheap", "brisk"), ("sticky-lever", "ordinary", "mixed")],
)
def test_bad_habits_are_no_hands(machine, sensors, tempo):
    found = kinds(run_of(machine, sensors, 3, tempo=tempo, person=SHAKY))
    assert ProfileFact.HALF_REPETITIONS_DIFFER not in found


def test_a_cell_that_samples_too_seldom_is_named():
    """A shake of 9.3 Hz looks like one of 0.7 Hz to a cell of 10 samples a second."""
    run = run_of("lever-row", "ordinary", 5)
    force = run.force.iloc[::8].reset_index(drop=True)
    shake = 13.0 * np.sin(2.0 * np.pi * 9.3 * force["host_s"].to_numpy())
    shaken = replace(run, force=force.assign(force_n=force["force_n"] + shake))
    made = estimate([session_of(shaken)], reference=Reference("machine", run.start_angle_rad, 0.0))
    (differ,) = [fact for fact in made.warnings if fact.kind == ProfileFact.HALF_REPETITIONS_DIFFER]
    assert differ.figures["slow_hz"] == pytest.approx(10.0, rel=0.01)


def test_clocks_that_run_apart_are_named_before_hands():
    """Two loggers of their own clocks and no common time, one of which loses a second."""
    run = run_of("lever-row", "ordinary", 5)
    time_s = run.force["host_s"]
    apart = replace(run, force=run.force.assign(host_s=time_s + (time_s > 20.0), device_s=np.nan))
    reference = Reference("machine", run.start_angle_rad, 0.0)
    with pytest.raises(ProfileError, match="clocks of the two sensors run apart or jumped") as raised:
        estimate([session_of(apart)], reference=reference)
    assert "host_time_s" in str(raised.value)


def test_two_machines_with_one_load_are_told_apart():
    one, same = (run_of("lever-row", "ordinary", seed) for seed in (5, 77))
    other = run_of("four-bar", "ordinary", 8)
    reference = Reference("machine", one.start_angle_rad, 0.0)
    estimate([session_of(one, "mon"), session_of(same, "tue")], reference=reference)
    with pytest.raises(ProfileError, match="mon and wed are not of one machine with one load") as raised:
        estimate([session_of(one, "mon"), session_of(other, "wed")], reference=reference)
    assert "feltload compare" in str(raised.value)
