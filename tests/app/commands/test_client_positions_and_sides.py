"""Positions to hold at, sides compared, and invented data that says so, as processes of their own."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import CapacityCurve, capacity_to_json


@pytest.fixture(scope="module")
def row(measured_row, tmp_path_factory) -> Path:
    """A copy, since something is written into it."""
    return Path(shutil.copytree(measured_row, tmp_path_factory.mktemp("client") / "row"))


def test_positions_span_the_measured_range_with_cautions(feltload, row):
    done = feltload("client", "positions", row)
    assert done.code == 0, done.err
    for caution in (
        "partner beside the machine",
        "stops set",
        "stop at once on pain",
        "not a medical device",
    ):
        assert caution in done.err
    assert "2 min" in done.out
    found = json.loads(feltload("client", "positions", row, "--json").out)
    profile = (row / "profile.csv").read_text().splitlines()
    measured = np.array([float(line.split(",")[1]) for line in profile[1:]])
    travel = np.ptp(measured)
    assert 5 <= len(found["angle_deg"]) <= 7
    assert min(found["angle_deg"]) == pytest.approx(measured.min() + 0.05 * travel, abs=0.1)
    assert max(found["angle_deg"]) == pytest.approx(measured.max() - 0.05 * travel, abs=0.1)


def test_painful_positions_are_not_proposed(feltload, row):
    found = json.loads(feltload("client", "positions", row, "--painful", "-40:-10 deg", "--json").out)
    assert min(found["angle_deg"]) > -8.0
    assert found["left_out"]
    feltload("client", "positions", row, "--painful", "-40:25 deg").one_line_error("too few", "clinician")
    feltload("client", "positions", row, "--count", "12").one_line_error("12 positions", "3 to 7")


def _capacity(path: Path, side: str | None, force_n: float, machine: str = "row") -> Path:
    angle = np.deg2rad(np.arange(-20.0, 31.0))
    force = force_n * np.linspace(1.2, 0.8, angle.size)
    curve = CapacityCurve(angle, force, np.diag((0.03 * force) ** 2), "holds", side=side)
    path.write_text(capacity_to_json(curve, machine=machine))
    return path


def test_sides_compared(feltload, tmp_path):
    left = _capacity(tmp_path / "left.json", "left", 400.0)
    right = _capacity(tmp_path / "right.json", "right", 340.0)
    done = feltload("client", "sides", left, right)
    assert done.code == 0, done.err
    assert "left side is stronger" in done.out
    assert "clinic" not in done.out
    said = json.loads(feltload("client", "sides", left, right, "--json").out)
    # Right minus left over their mean: (340 - 400) / 370.
    assert said["mean"] == pytest.approx(-60.0 / 370.0)
    alike = _capacity(tmp_path / "alike.json", "right", 401.0)
    assert "At no position" in feltload("client", "sides", left, alike).out


def test_sides_that_cannot_be_compared(feltload, tmp_path):
    left = _capacity(tmp_path / "left.json", "left", 400.0)
    right = _capacity(tmp_path / "right.json", "right", 340.0, machine="press")
    feltload("client", "sides", left, right).one_line_error("right.json", "'press'", "one machine")
    feltload("client", "sides", right, left).one_line_error("right.json", "left side's file first")


def test_what_comes_of_invented_recordings_says_so(feltload, recordings, row, tmp_path):
    capacity = tmp_path / "capacity.json"
    folder = json.loads(feltload("client", "new", tmp_path, "--json").out)["folder"]
    holds = recordings / "client-holds.mcap"
    done = feltload("client", "capacity", holds, "--out", capacity, "--client", folder)
    assert done.code == 0, done.err
    assert "Invented data" in done.err
    assert json.loads(capacity.read_text())["invented"] is True
    (kept,) = [p for p in Path(folder).glob("*.json") if p.name != "client.json"]
    assert "Invented data" in json.loads(kept.read_text())["note"]
    # A sheet of a real machine with an invented person is marked too.
    provenance = json.loads((row / "provenance.json").read_text())
    assert provenance["invented"] is True
    (row / "provenance.json").write_text(json.dumps({**provenance, "invented": False}))
    try:
        sheet = tmp_path / "sheet.html"
        done = feltload("client", "sheet", row, capacity, "--load", "40 kg", "--out", sheet)
        assert done.code == 0, done.err
        assert "Invented data" in sheet.read_text(encoding="utf-8")
        plain = json.loads(capacity.read_text())
        # A file of an earlier version does not say: it was not invented as far as anyone knows.
        del plain["invented"]
        capacity.write_text(json.dumps(plain))
        done = feltload(
            "client", "sheet", row, capacity, "--load", "40 kg", "--out", sheet, "--force-overwrite"
        )
        assert "Invented data" not in sheet.read_text(encoding="utf-8")
    finally:
        (row / "provenance.json").write_text(json.dumps(provenance))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "Compare a measured profile with the geometry"),
        (("client",), "Where a client runs out on this machine"),
        (("client", "--help"), "Help that a partner gave"),
        (("calibrate", "--help"), "Calibrate a load cell"),
    ],
)
def test_overviews_say_what_each_command_does(feltload, words, said):
    assert said in " ".join(feltload(*words).out.replace("│", " ").split())
