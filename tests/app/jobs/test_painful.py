"""Where it hurts, from wherever it is known: a recording's marks, both sides' files, a client's folder."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feltload.app.cli import main
from feltload.app.jobs.capacity import measure_capacity
from feltload.app.jobs.client_inputs import read_session, read_sides
from feltload.app.jobs.painful import KnownPain, PainKeeper, read_marked_capacity, session_pain
from feltload.app.text.person.match import describe_match
from feltload.app.text.person.strength import describe_sides
from feltload.app.text.person.travel import describe_reported, describe_session_pain
from feltload.coaching import (
    ClientFolder,
    LoadLine,
    PainMark,
    capacity_to_json,
    compare_capacity_sides,
    match_capacity,
)
from feltload.signal import load_results
from lever_profile import lever_profile
from made_capacity import made_capacity
from restated import restated

MACHINE = "invented lever"


def spans_deg(spans_rad) -> list[tuple[int, int]]:
    return [(round(np.rad2deg(low)), round(np.rad2deg(high))) for low, high in spans_rad]


def test_pain_marked_while_holding_marks_the_position_asked_for_and_leaves_its_hold_out(
    recordings, tmp_path
) -> None:
    holds = recordings / "client-holds.mcap"
    free = measure_capacity(holds).curve
    sore_deg = np.rad2deg(sorted({round(hold.angle_rad, 1) for hold in free.holds}))[-1]
    marked = restated(holds, tmp_path / "sore.mcap", marks=[("pain", 20.0, f"{sore_deg:.1f} deg")])
    curve = measure_capacity(marked, marks_of=PainKeeper().marks).curve
    # Five degrees to both sides, in whole degrees outward (our own convention).
    assert spans_deg(curve.painful_rad) == [(np.floor(sore_deg - 5.0), np.ceil(sore_deg + 5.0))]
    assert curve.all_holds is not None and curve.angle_rad[-1] < free.angle_rad[-1]
    assert all(mark.added for mark in curve.painful)


def test_pain_marked_in_a_set_without_a_position_marks_where_the_handle_was(
    recordings, measured_row, tmp_path
) -> None:
    source, at_s = recordings / "partner-help-40kg.mcap", 14.0
    profile = load_results(measured_row)
    session = read_session(
        restated(source, tmp_path / "set.mcap", marks=[("pain", at_s, "")]), profile=profile
    )
    there = np.rad2deg(np.interp(at_s, session.motion.time_s, session.motion.angle_rad))
    assert spans_deg(session.painful_rad) == [(np.floor(there - 5.0), np.ceil(there + 5.0))]
    hurts = session_pain(session, (), profile)
    assert hurts.work is not None and hurts.cautions
    said = " ".join(describe_session_pain(hurts, profile.travel))
    (told,) = describe_reported(hurts, Path("my row"), None)
    low, high = np.floor(there - 5.0), np.ceil(there + 5.0)
    assert told.endswith(
        f"feltload client pain FOLDER --result 'my row' --painful \"{low:.0f}:{high:.0f} deg\""
    )
    # Once it is marked there is nothing to be kept.
    again = session_pain(session, session.painful_rad, profile)
    assert again.painful_rad == hurts.painful_rad
    assert not describe_reported(again, Path("my row"), None)
    assert "the client worked in" in said and "of the travel" in said and "In the next set" in said


def test_sides_leave_out_what_hurts_on_either(tmp_path) -> None:
    for side, strength, span in (("left", 400.0, (-21.0, -5.0)), ("right", 340.0, (30.0, 50.0))):
        curve = made_capacity(force_n=(strength, strength), side=side).marked([tuple(np.deg2rad(span))])
        (tmp_path / f"{side}.json").write_text(capacity_to_json(curve, machine=MACHINE), encoding="utf-8")
    compared = compare_capacity_sides(*read_sides(tmp_path / "left.json", tmp_path / "right.json"))
    degrees = np.rad2deg(compared.angle_rad)
    assert not np.any((degrees > -21.0) & (degrees < -5.0)) and degrees.max() < 30.0
    assert describe_sides(compared)[0] == ("Left out, since marked painful: −21° to −5° and 30° to 50°.")


@pytest.mark.parametrize(
    ("span_deg", "leads", "turn_deg"),
    [
        # Beyond the capacity and inside the travel: the stop lies where the capacity ends.
        ((36.0, 44.0), "87 to 99 % of the travel (36° to 44°) is marked painful", 30.0),
        # Reaching into the capacity.
        ((20.0, 40.0), "64 to 93 % of the travel (20° to 40°) is marked painful", 18.0),
        # Beyond the travel: nothing to keep out of, but never to be set.
        ((50.0, 60.0), "50° to 60° is marked painful", None),
    ],
)
def test_a_mark_in_the_folder_counts_where_the_capacity_does_not_reach(
    tmp_path, span_deg, leads, turn_deg
) -> None:
    path = tmp_path / "capacity.json"
    path.write_text(capacity_to_json(made_capacity(-25.0, 30.0), machine=MACHINE), encoding="utf-8")
    folder = ClientFolder.create(tmp_path, code="A1")
    folder.mark(MACHINE, None, [PainMark(*np.deg2rad(span_deg), added="2031-01-01")])
    known = KnownPain(folder=ClientFolder.open(folder.path))
    profile = lever_profile()
    match = match_capacity(LoadLine.of(profile), read_marked_capacity(path, profile, known), 40.0)
    first = describe_match(match, profile.travel)[0]
    assert first.startswith(leads)
    assert np.rad2deg(match.travel.work_rad[1]) <= 30.0 + 1e-6
    if turn_deg is None:
        assert "never set the machine to go there" in first
    else:
        assert np.rad2deg(match.travel.turn_rad) == pytest.approx(turn_deg, abs=0.1)


def test_a_range_is_marked_and_its_mark_removed_without_a_measurement(recordings, tmp_path, capsys) -> None:
    folder = ClientFolder.create(tmp_path, code="A1").path
    machine = str(recordings / "lever-row.toml")
    words = ["client", "pain", str(folder), "--machine", machine]
    assert main([*words, "--painful", "20:40 deg", "--quiet"]) == 0
    shown = capsys.readouterr()
    assert "20° to 40° is marked painful on lever-row" in shown.out and "licensed clinician" in shown.err
    name = ClientFolder.open(folder).record.painful[0].machine
    travel = lever_profile().travel
    assert spans_deg(KnownPain.read(None, folder).on(name, travel)) == [(20, 40)]
    assert main([*words, "--no-longer-painful", "20:30 deg"]) == 2
    assert "name the range as it was marked" in capsys.readouterr().err
    assert main([*words, "--no-longer-painful", "20:40 deg", "--quiet"]) == 0
    assert "removed on purpose" in capsys.readouterr().out
    (mark,) = ClientFolder.open(folder).record.painful
    assert mark.removed and not KnownPain.read(None, folder).on(name, travel)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--machine", "lever-row.toml"), "nothing to mark"),
        (("--painful", "20:40 deg"), "--result, --machine"),
        (("--machine", "missing.toml", "--painful", "20:40 deg"), "missing.toml"),
    ],
)
def test_a_mark_needs_a_range_and_a_machine(recordings, tmp_path, capsys, words, said) -> None:
    folder = ClientFolder.create(tmp_path, code="A1").path
    named = [str(recordings / word) if Path(word).suffix == ".toml" else word for word in words]
    assert main(["client", "pain", str(folder), *named]) == 2
    assert said in capsys.readouterr().err
    assert not ClientFolder.open(folder).record.painful
