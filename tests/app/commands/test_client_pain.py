"""A painful range on its way through the commands: kept, never worked in, removed only on purpose."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

PAIN = "20:40 deg"


@pytest.fixture(scope="module")
def folder(feltload, tmp_path_factory) -> Path:
    made = feltload("client", "new", tmp_path_factory.mktemp("clients"), "--code", "B2", "--json")
    return Path(json.loads(made.out)["folder"])


@pytest.fixture(scope="module")
def sore(feltload, recordings, folder) -> Path:
    out = folder.parent / "sore.json"
    holds = recordings / "client-holds.mcap"
    done = feltload("client", "capacity", holds, "--out", out, "--painful", PAIN, "--client", folder)
    assert done.code == 0, done.err
    assert done.out.startswith("20° to 40° is marked painful")
    assert "licensed clinician" in done.err
    return out


@pytest.mark.timeout(400)  # eight processes, which a busy computer starts slowly
def test_every_answer_leads_with_the_stop_and_has_no_figures_beyond(feltload, measured_row, sore, tmp_path):
    page = tmp_path / "sheet.html"
    for words in (
        ("match", measured_row, sore, "--load", "40 kg", "--demand", "70 %"),
        ("plan", measured_row, sore, "--load", "40 kg", "--target", "70 %"),
        ("what-if", measured_row, sore, "--load", "40 kg", "--plates", "36 kg"),
        ("sheet", measured_row, sore, "--load", "40 kg", "--out", page),
        ("positions", measured_row, "--capacity", sore),
    ):
        done = feltload("client", *words)
        assert done.code == 0, done.err
        assert done.out.startswith("80 to 100 % of the travel ("), done.out
        assert "20° to 40°) is marked painful" in done.out.splitlines()[0]
        # Where to hold is asked before the capacity is known, which ends a degree below what the pain leaves.
        stop = "77 % of the travel (last third, 56 cm from the start stop, 18°)"
        if words[0] != "positions":
            stop = "74 % of the travel (last third, 54 cm from the start stop, 17°)"
        assert f"turn every repetition at {stop}" in done.out.splitlines()[0]
        assert "licensed clinician" in done.err
        assert "whole travel" not in done.out and "full range" not in done.out
    text = page.read_text(encoding="utf-8")
    assert "Turn every repetition at 74\u00a0% of the travel" in text and "painful: keep out" in text
    assert "licensed clinician" in text and "whole travel" not in text and "full range" not in text
    feltload("client", "match", measured_row, sore, "--load", "40 kg", "--stop", "25 deg").one_line_error(
        "a stop at 87 % of the travel (25°)", "painful"
    )
    limit = ("limit", measured_row, "--capacity", sore, "--force", "150 N", "--between", "0:30 deg")
    feltload("client", *limit).one_line_error("painful", "no load is given there")


def test_pain_raises_neither_plates_nor_repetitions(feltload, recordings, measured_row, sore, tmp_path):
    free = tmp_path / "free.json"
    assert feltload("client", "capacity", recordings / "client-holds.mcap", "--out", free).code == 0
    words = ("--load", "40 kg", "--demand", "70 %", "--json")
    found = [
        json.loads(feltload("client", "match", measured_row, capacity, *words).out)
        for capacity in (free, sore)
    ]
    before, after = found
    assert after["load_for_demand_kg"] <= before["load_for_demand_kg"] + 1e-3
    assert (
        after["repetitions"] <= before["repetitions"] and after["repetitions"][1] <= before["repetitions"][1]
    )
    assert after["turn_at"]["angle_deg"] < 20.0 and max(after["angle_deg"]) < 20.0


def test_a_mark_goes_only_on_purpose_and_stays_in_the_history(feltload, recordings, folder, sore):
    holds, out = recordings / "client-holds.mcap", folder.parent / "again.json"
    again = feltload("client", "capacity", holds, "--out", out, "--client", folder)
    assert again.out.startswith("20° to 40° is marked painful")
    words = ("client", "capacity", holds, "--out", out, "--client", folder, "--force-overwrite")
    feltload(*words, "--no-longer-painful", "20:30 deg").one_line_error("20° to 30°", "20° to 40°")
    done = feltload(*words, "--no-longer-painful", PAIN, "--json")
    assert done.code == 0, done.err
    (mark,) = json.loads(done.out)["painful"]
    assert mark["added"] and mark["removed"]
    history = feltload("client", "history", folder).out
    assert "marked painful" in history and "removed on purpose" in history
