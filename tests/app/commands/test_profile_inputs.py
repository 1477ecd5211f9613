"""What `feltload profile` makes of recordings that hold more, or something else, than repetitions."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from checked_recording import write_checked
from feltload.app.jobs.measuring.fixed_arm import count_efforts
from feltload.emulator import Joint, Person, scenario, simulate
from feltload.signal import ProfileFact
from feltload.signal.session import Session
from restated import restated


@pytest.mark.parametrize(("felt_kg", "agrees"), [(15.0, True), (15.6, False)])
def test_field_check_reaches_screen_file_and_page(feltload, tmp_path, felt_kg, agrees):
    write_checked(tmp_path / "row.mcap", felt_kg=felt_kg)
    out = tmp_path / "row"
    done = feltload("profile", tmp_path / "row.mcap", "--out", out, "--latitude", "50 deg")
    assert done.code == 0, done.err
    assert "Field check with 15.000(0.005) kg" in done.out
    kept = json.loads((out / "profile.json").read_text())
    (check,) = kept["health"]["field_checks"]
    assert (check["session"], check["agrees"]) == ("row", agrees)
    assert (abs(check["en"]) <= 1.0) is agrees
    assert any(fact["kind"] == ProfileFact.FIELD_CHECK_DISAGREES for fact in kept["warnings"]) is not agrees
    page = (out / "report.html").read_text(encoding="utf-8")
    assert "Field check with 15.000(0.005)" in page
    assert ('<li class="bad">' in page) is not agrees
    (source,) = json.loads((out / "provenance.json").read_text())["recordings"]
    (check,) = source["field_checks"]
    # Gravity at 50 degrees is 9.811 m/s2 (WGS 84), the weight was made with 9.80665.
    assert check["applied_n"] == pytest.approx(147.16, abs=0.05)
    assert check["measured_n"] == pytest.approx(9.80665 * felt_kg, abs=0.3)


def test_holds_alone_are_no_profile(feltload, recordings, tmp_path):
    unsaid = restated(recordings / "client-holds.mcap", tmp_path / "unsaid.mcap", kind=None)
    for others in ((), (recordings / "lever-row-20kg.mcap",)):
        done = feltload("profile", *others, unsaid, "--out", tmp_path / "row")
        done.one_line_error("unsaid.mcap", "5 of them", "feltload client capacity")
    assert not list(tmp_path.glob("row/*"))


def session(person: Person, machine: str, sensors: str, joint: Joint | None = None) -> Session:
    run = simulate(scenario(machine, sensors=sensors, person=person, joint=joint), seed=4)
    zero = run.force.loc[run.force["host_s"] < 1.0, "force_n"].mean()
    return Session("made", run.force.assign(force_n=run.force["force_n"] - zero), run.inertial, 40.0)


@pytest.mark.parametrize(
    ("machine", "sensors"), [("lever-row", "ordinary"), ("rising-arm", "cheap"), ("four-bar", "fast")]
)
def test_repetitions_and_pauses_are_no_holds(machine, sensors):
    holds, moving = count_efforts(session(Person(tempo="mixed", repetitions=6), machine, sensors))
    assert holds == 0
    assert moving >= 1


def test_rates_in_the_wrong_unit_are_no_arm_that_stands():
    # rad/s read as deg/s: the gyroscope hardly turns, gravity does.
    made = session(Person(tempo="mixed", repetitions=6), "lever-row", "ordinary")
    rates = [f"gyro_{axis}_rad_s" for axis in "xyz"]
    slow = made.inertial.assign(**{name: np.radians(made.inertial[name]) for name in rates})
    assert count_efforts(replace(made, inertial=slow))[0] == 0


@pytest.mark.parametrize("play_deg", [0.2, 1.0])
def test_blows_of_a_joint_with_play_make_no_holds(play_deg):
    # A gap that closes hits with several times the force of the set: that peak is no measure of what is strong.
    person = Person(tempo="mixed", repetitions=6, touch_share=1.0)
    joint = Joint(float(np.radians(play_deg)), 40.0, 0.05)
    holds, moving = count_efforts(session(person, "lever-row", "fast", joint))
    assert holds == 0
    assert moving > 0


def test_holds_are_counted_beside_repetitions():
    holds, moving = count_efforts(
        session(Person(tempo="brisk", repetitions=5, holds=(0.1, 0.5, 0.9)), "lever-row", "ordinary")
    )
    assert holds == 3
    assert moving >= 1


def test_a_weight_that_hangs_for_a_field_check_is_no_hold(tmp_path):
    from feltload.acquisition.recording.recording import read_recording

    write_checked(tmp_path / "row.mcap", felt_kg=15.0)
    recording = read_recording(tmp_path / "row.mcap")
    made = Session.from_recording(recording)
    assert count_efforts(made)[0] == 1
    assert count_efforts(made, tuple(recording.marks))[0] == 0
