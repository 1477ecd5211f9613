"""Bad input to the client commands: one clear line, exit code 2, nothing lost."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import CapacityCurve, capacity_to_json
from feltload.signal.profile.files.results import load_results
from restated import restated


@pytest.fixture
def row(measured_row) -> Path:
    return measured_row


def _capacity(folder: Path, machine: str, low_deg: float, high_deg: float) -> Path:
    angle = np.deg2rad(np.linspace(low_deg, high_deg, 30))
    curve = CapacityCurve(angle, np.full(30, 400.0), 100.0 * np.eye(30), "holds")
    path = folder / "capacity.json"
    path.write_text(capacity_to_json(curve, machine=machine))
    return path


@pytest.fixture
def capacity(row, tmp_path) -> Path:
    return _capacity(tmp_path, load_results(row).machine_name, -29.0, 31.0)


def test_capacity_of_another_machine(feltload, row, tmp_path):
    other = _capacity(tmp_path, "another machine", -29.0, 31.0)
    feltload("client", "match", row, other, "--load", "30 kg").one_line_error(
        "another machine", "capacity.json"
    )


def test_recording_of_another_machine(feltload, recordings, row, tmp_path):
    machine = (recordings / "lever-row.toml").read_text()
    renamed = tmp_path / "other"
    machine_file = tmp_path / "other.toml"
    name = load_results(row).machine_name
    assert name in machine
    machine_file.write_text(machine.replace(name, "other lever"))
    loads = [recordings / f"lever-row-{load}kg.mcap" for load in (20, 40)]
    assert feltload("profile", *loads, "--machine", machine_file, "--out", renamed).code == 0
    done = feltload("client", "effort", renamed, recordings / "partner-help-40kg.mcap")
    done.one_line_error("partner-help-40kg.mcap", "other lever", "profile the machine")


def test_ranges_that_do_not_overlap(feltload, row, tmp_path):
    away = _capacity(tmp_path, load_results(row).machine_name, 60.0, 90.0)
    feltload("client", "plan", row, away, "--load", "30 kg", "--target", "0.7").one_line_error(
        "10° in common"
    )


def test_load_that_is_not_named(feltload, row, capacity):
    feltload("client", "match", row, capacity).one_line_error("--load", "20 kg, 40 kg", '"30 kg"')


def test_holds_at_two_positions(feltload, tmp_path, recordings):
    """Three of the five positions are marked painful, which leaves two."""
    out = tmp_path / "capacity.json"
    done = feltload(
        "client", "capacity", recordings / "client-holds.mcap", "--out", out, "--painful", "-40:5 deg"
    )
    done.one_line_error("2 positions only", "cannot be determined", "3 positions")
    assert not out.exists()


def test_repetitions_alone_are_no_holds(feltload, tmp_path, recordings):
    out = tmp_path / "capacity.json"
    unsaid = restated(recordings / "lever-row-40kg.mcap", tmp_path / "unsaid.mcap", kind=None)
    done = feltload("client", "capacity", unsaid, "--out", out)
    done.one_line_error("only moving repetitions", "hold each position")


def test_files_that_are_missing_or_no_capacity(feltload, row, tmp_path, recordings):
    missing = tmp_path / "none.json"
    feltload("client", "match", row, missing, "--load", "30 kg").one_line_error("none.json")
    feltload("client", "effort", tmp_path / "nothing", recordings / "lever-row-40kg.mcap").one_line_error(
        "nothing"
    )
    feltload("client", "effort", row, tmp_path / "none.mcap").one_line_error("none.mcap")
    broken = tmp_path / "broken.json"
    broken.write_text(json.dumps({"machine": "lever"}))
    feltload("client", "match", row, broken, "--load", "30 kg").one_line_error(
        "broken.json", "not a capacity file"
    )


def test_numbers_that_make_no_sense(feltload, row, capacity):
    feltload("client", "plan", row, capacity, "--load", "30 kg", "--target", "1.5").one_line_error("1.5")
    feltload("client", "match", row, capacity, "--load", "30 apples").one_line_error("--load")
    feltload("client", "limit", row, "--force", "150 N", "--between", "40:20 deg").one_line_error(
        "does not rise"
    )
    feltload("client", "limit", row, "--force", "150 N", "--between", "60:80 deg").one_line_error("60°")


@pytest.mark.parametrize("command", ["capacity", "sheet"])
def test_existing_output_is_not_overwritten(feltload, row, capacity, recordings, tmp_path, command):
    out = tmp_path / ("kept.json" if command == "capacity" else "kept.html")
    out.write_text("mine")
    words = (
        (recordings / "client-holds.mcap",) if command == "capacity" else (row, capacity, "--load", "30 kg")
    )
    feltload("client", command, *words, "--out", out).one_line_error(out.name, "--force-overwrite")
    assert out.read_text() == "mine"
