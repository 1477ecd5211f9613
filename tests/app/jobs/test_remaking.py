"""Folders of results compared number by number; words of commands kept beside them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from feltload.app.errors import UsageError
from feltload.app.files.asked import load_commands
from feltload.app.jobs.remaking.asked import words_again
from feltload.app.jobs.remaking.comparing import compare_folders
from feltload.app.jobs.remaking.inputs import find_by_digest
from feltload.app.text.study.remade import remade_lines
from feltload.calibration import example_text


def folder(path: Path, **documents: object) -> Path:
    path.mkdir()
    for name, document in documents.items():
        (path / f"{name}.json").write_text(json.dumps(document), encoding="utf-8")
    return path


def test_equal_results_differ_by_nothing(tmp_path: Path) -> None:
    document = {"static_n": [1.0, float("nan"), 3.0], "machine": "lever", "ok": True, "u": None}
    pair = [folder(tmp_path / side, profile=document) for side in "ab"]
    found = compare_folders(*pair)
    assert not found.structure
    assert not found.words
    assert found.largest == {"profile.json.static_n[]": 0.0}


def test_a_difference_is_relative_and_in_a_list_to_its_largest_number(tmp_path: Path) -> None:
    before = folder(tmp_path / "a", profile={"peak_n": 200.0, "curve": [1e-15, -50.0]})
    after = folder(tmp_path / "b", profile={"peak_n": 200.0002, "curve": [-1e-15, -50.0]})
    found = compare_folders(before, after).largest
    assert found["profile.json.peak_n"] == pytest.approx(1e-6, rel=1e-3)
    assert found["profile.json.curve[]"] == pytest.approx(4e-17)


def test_a_number_that_vanished_differs_without_end(tmp_path: Path) -> None:
    before = folder(tmp_path / "a", profile={"curve": [1.0, 2.0]})
    after = folder(tmp_path / "b", profile={"curve": [1.0, float("nan")]})
    assert compare_folders(before, after).largest["profile.json.curve[]"] == float("inf")


def test_changed_structure_and_words_are_reported(tmp_path: Path) -> None:
    before = folder(
        tmp_path / "a", profile={"format": 3, "old": 1, "verdict": "agrees", "list": [1.0]}, capacity={}
    )
    after = folder(tmp_path / "b", profile={"format": 4, "new": 1, "verdict": "differs", "list": [1.0, 2.0]})
    found = compare_folders(before, after)
    assert found.structure == [
        "capacity.json only before",
        "profile.json.format was 3, is 4",
        "profile.json.list had 1 entries, has 2",
        "profile.json.new only after",
        "profile.json.old only before",
    ]
    assert found.words == ["profile.json.verdict: 'agrees' is now 'differs'"]


def test_a_csv_is_compared_by_column(tmp_path: Path) -> None:
    for side, force in (("a", "100.0"), ("b", "100.1")):
        (tmp_path / side).mkdir()
        (tmp_path / side / "profile.csv").write_text(
            f"angle_deg,static_n\n0,0.0\n1,{force}\n", encoding="utf-8"
        )
    found = compare_folders(tmp_path / "a", tmp_path / "b").largest
    assert found["profile.csv.angle_deg[]"] == 0.0
    assert found["profile.csv.static_n[]"] == pytest.approx(1e-3, rel=0.01)


def test_arrays_tables_and_pages_are_compared(tmp_path: Path) -> None:
    for side, more in (("a", 0.0), ("b", 1e-3)):
        (tmp_path / side / "figures").mkdir(parents=True)
        np.savez(
            tmp_path / side / "model.npz",
            covariance=np.array([1.0, np.nan, 2.0 + more]),
            names=np.array(["x"]),
        )
        rows = {"measurement": ["m2", "m1"], "force_n": [2.0 + more, 1.0], "recording": [side, side]}
        frame = pd.DataFrame(rows)
        frame = frame.iloc[::-1] if more else frame
        frame.to_parquet(tmp_path / side / "profiles.parquet", index=False)
        (tmp_path / side / "figures" / "a.svg").write_text(f'<path d="M 1 {2 + more}"/><text>{side}</text>')
        (tmp_path / side / "notes.txt").write_text(side)
        (tmp_path / side / "command-predict.json").write_text(json.dumps({"side": side}))
    found = compare_folders(tmp_path / "a", tmp_path / "b")
    expected = ["model.npz.covariance", "profiles.parquet.force_n", "figures/a.svg.numbers"]
    assert found.above() == pytest.approx(dict.fromkeys(expected, 5e-4), rel=0.01)
    assert [line.partition(":")[0] for line in found.words] == ["figures/a.svg.words"]
    assert found.files == 3
    assert not found.same
    lines = remade_lines(found, {"numpy": "1"}, {"numpy": "2"})
    assert "profiles.parquet.force_n differs by up to 0.0005 of the largest value beside it" in lines
    assert lines[-1] == "It was made with other versions, which may explain it: numpy 1, now 2."
    assert "The versions and all that it was given are the same" in remade_lines(found, {}, {})[-1]


def test_rounding_is_no_difference(tmp_path: Path) -> None:
    before = folder(tmp_path / "a", profile={"curve": [1.0, 100.0]})
    after = folder(tmp_path / "b", profile={"curve": [1.0 + 1e-9, 100.0]})
    found = compare_folders(before, after)
    assert found.same
    assert "but for rounding, up to 1e-11 of" in remade_lines(found, {}, {})[0]


def test_a_file_is_found_by_its_digest_or_said_to_have_changed(tmp_path: Path) -> None:
    (tmp_path / "b.mcap").write_bytes(b"one")
    (tmp_path / "a.mcap").write_bytes(b"other")
    one = "7692c3ad3540bb803c020b3aee66cd8887123234ea0c6e7143c0add73ff431ed"
    assert find_by_digest([("a.mcap", one)], tmp_path, Path("row")) == [tmp_path / "b.mcap"]
    (tmp_path / "b.mcap").unlink()
    with pytest.raises(UsageError, match=r"a\.mcap: has changed since row was made from it: .*7692c3ad3540"):
        find_by_digest([("a.mcap", one)], tmp_path, Path("row"))
    with pytest.raises(UsageError, match=r"c\.mcap of row is not in it"):
        find_by_digest([("c.mcap", one)], tmp_path, Path("row"))


def test_words_are_kept_and_say_the_same_again(feltload, tmp_path: Path, monkeypatch) -> None:
    """A file inside a phrase, a value that begins with a minus, braces, and an option given twice."""
    monkeypatch.chdir(tmp_path)
    strength = "angle_deg,force_n\n-20,300\n0,280\n40,260\n"
    Path("strength.csv").write_text(strength, encoding="utf-8")
    machine = example_text("lever")
    Path("row.toml").write_text(machine, encoding="utf-8")
    words = ["--load", "20 kg", "--load", "40 kg", "--target", "proportional to strength.csv within 50 %"]
    assert feltload("predict", "row.toml", *words, "--vary", "plates.angle=-5:5:10", "--out", "row").code == 0
    asked = load_commands(Path("row"))["predict"]
    assert [(each.name, each.text) for each in asked.given] == [
        ("row.toml", machine),
        ("strength.csv", strength),
    ]
    assert asked.feltload and asked.libraries["numpy"] == np.__version__
    Path("scratch").mkdir()
    again = words_again(asked, inputs=Path(), result=Path("row"), out=Path("out"), scratch=Path("scratch"))
    assert again[1:6] == [
        "row.toml",
        "--load=20 kg",
        "--load=40 kg",
        "--vary=plates.angle=-5:5:10",
        "--target=proportional to strength.csv within 50 %",
    ]
    Path("strength.csv").unlink()
    Path("row.toml").unlink()
    done = feltload("remake", "row", "--out", "again", "--json")
    assert done.code == 0, done.err
    said = json.loads(done.out)
    assert said["bit_for_bit"] is True
    assert said["files"] == 7
    assert said["made_with"]["before"] == said["made_with"]["after"]
