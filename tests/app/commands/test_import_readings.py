"""A profile of a scale that was read by hand, through every command that reads a profile."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from feltload.app.cli import main
from feltload.coaching import CapacityCurve, capacity_to_json
from feltload.emulator import machine_toml, read_by_hand, scenario

LOAD = ("--load", "40 kg")


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("by hand")
    scene = scenario("lever-row")
    read_by_hand(scene, 21).table.to_csv(folder / "stops.csv", index=False)
    read_by_hand(scene, 22, ways=("raising",)).table.to_csv(folder / "one.csv", index=False)
    (folder / "row.toml").write_text(machine_toml(scene))
    for name in ("stops", "one"):
        words = ("import", "--readings", f"{name}.csv", "--machine", "row.toml", *LOAD, "--out", name)
        paths = [str(folder / word) if word in (f"{name}.csv", "row.toml", name) else word for word in words]
        assert main(paths) == 0
    angle = np.radians(np.linspace(-32.0, 38.0, 40))
    capacity = CapacityCurve(angle, np.full(40, 400.0), 100.0 * np.eye(40), "holds")
    name = json.loads((folder / "stops" / "profile.json").read_text())["machine"]
    (folder / "capacity.json").write_text(capacity_to_json(capacity, machine=name))
    return folder


def test_it_is_the_same_folder_as_any_profile(folder):
    files = {path.name for path in (folder / "stops").iterdir()}
    assert files >= {"profile.csv", "profile.json", "report.html", "model.npz", "provenance.json"}
    page = (folder / "stops" / "report.html").read_text()
    assert "18 readings by hand at 9 stops" in page
    assert "resolution of the scale" in page and "Repetitions</h2>" not in page
    assert "not separated" in (folder / "one" / "report.html").read_text()


def test_for_programs_what_is_not_known_is_null(folder, tmp_path, capsys):
    given = ["import", "--readings", str(folder / "one.csv"), "--machine", str(folder / "row.toml"), *LOAD]
    assert main([*given, "--out", str(tmp_path / "one"), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert (record["method"], record["lag_s"], record["friction"]["mean_n"]) == ("stops", None, None)


def test_check_reads_it(folder, capsys):
    assert main(["check", str(folder / "stops"), "--machine", str(folder / "row.toml"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == "agrees"


def test_compare_reads_it_also_without_friction(folder, capsys):
    assert (
        main(
            ["compare", str(folder / "stops"), str(folder / "one"), "--json", "--out", str(folder / "c.html")]
        )
        == 0
    )
    compared = json.loads(capsys.readouterr().out)["profiles"]
    assert compared[0]["friction_n"] > 0 and compared[1]["friction_n"] is None


@pytest.mark.parametrize("name", ["stops", "one"])
def test_a_client_is_matched_with_it(folder, name, capsys):
    words = ["client", "match", str(folder / name), str(folder / "capacity.json"), *LOAD, "--json"]
    assert main(words) == 0
    matched = json.loads(capsys.readouterr().out)
    assert 0.4 < matched["limiting_demand"] < 0.8


def test_what_inertia_adds_is_refused_in_one_line(folder, capsys):
    words = ["client", "what-if", str(folder / "stops"), str(folder / "capacity.json"), *LOAD]
    assert main([*words, "--tempo", "2"]) == 2
    assert "read by hand" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--imu", "x.csv"), "--imu: does not go with --readings"),
        (("--scale-error", "60 %"), "--scale-error"),
        (("--scale-resolution", "0 N"), "--scale-resolution"),
        (("--position-uncertainty", "1 cm"), "--position-uncertainty"),
        (("--travel", "900 deg"), "--travel"),
    ],
)
def test_what_cannot_be_is_one_line_and_writes_nothing(folder, words, said, capsys, tmp_path):
    out = tmp_path / "out"
    given = ["import", "--readings", str(folder / "stops.csv"), "--machine", str(folder / "row.toml"), *LOAD]
    assert main([*given, "--out", str(out), *words]) == 2
    error = capsys.readouterr().err.strip()
    assert said in error and "\n" not in error and not out.exists()


def test_a_machine_file_is_needed_and_nothing_is_overwritten(folder, capsys):
    given = ["import", "--readings", str(folder / "stops.csv"), *LOAD, "--out", str(folder / "stops")]
    assert main(given) == 2
    assert "--machine" in capsys.readouterr().err
    assert main([*given, "--machine", str(folder / "row.toml")]) == 2
    assert "already exists" in capsys.readouterr().err
