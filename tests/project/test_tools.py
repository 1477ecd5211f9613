"""The project's own tools: which tests a change calls for, and how results of two states are compared."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

import changed_tests
import compare_results
from source_tree import ROOT, dotted, modules


@pytest.mark.parametrize(
    ("path", "test"),
    [
        ("signal/feltload/signal/hinge/smoother/solver.py", "tests/signal/hinge"),
        ("signal/feltload/signal/pipeline.py", "tests/signal/test_pipeline.py"),
        ("calibration/feltload/calibration/machine/mechanisms/lever.py", "tests/calibration/machine"),
        ("signal/feltload/signal/__init__.pyi", "tests/project/test_faces.py"),
        ("tests/signal/hinge/test_bias.py", "tests/signal/hinge/test_bias.py"),
        ("tests/signal/conftest.py", "tests/signal"),
        ("tests/support/lever_profile.py", "tests/coaching/match/test_match.py"),
        ("benchmarks/rig_session.py", "tests/project/test_benchmarks.py"),
        ("recordings/lever-row.toml", "tests/acquisition/recording"),
        ("README.md", "tests/project/test_documented_commands.py"),
        ("Makefile", "tests/project/test_gate.py"),
    ],
)
def test_a_change_calls_for_its_tests(path: str, test: str) -> None:
    assert (ROOT / path).exists()
    assert (ROOT / test).exists()
    assert test in changed_tests.tests_of(path)


def test_every_module_has_tests_that_a_change_calls_for() -> None:
    for path in modules():
        called = changed_tests.tests_of(str(path.relative_to(ROOT))) - set(changed_tests.LAYOUT)
        assert [test for test in called if (ROOT / test).exists()], dotted(path)


def test_changes_are_found_committed_or_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def git(*words: str) -> None:
        subprocess.run(
            ["git", "-c", "user.name=x", "-c", "user.email=x@example.org", *words],
            cwd=tmp_path, check=True, capture_output=True,
        )  # fmt: skip

    monkeypatch.setattr(changed_tests, "ROOT", tmp_path)
    git("init", "--initial-branch", "main")
    for name in ("kept", "committed", "edited"):
        (tmp_path / name).write_text("before")
    git("add", ".")
    git("commit", "-m", "start")
    git("switch", "-c", "work")
    (tmp_path / "committed").write_text("after")
    git("commit", "-am", "change")
    (tmp_path / "edited").write_text("after")
    (tmp_path / "new").write_text("")
    assert changed_tests.changed(None) == {"committed", "edited", "new"}


def folder(path: Path, **documents: object) -> Path:
    path.mkdir()
    for name, document in documents.items():
        (path / f"{name}.json").write_text(json.dumps(document), encoding="utf-8")
    return path


def test_equal_results_differ_by_nothing(tmp_path: Path) -> None:
    document = {"static_n": [1.0, float("nan"), 3.0], "machine": "lever", "ok": True, "u": None}
    pair = [folder(tmp_path / side, profile=document) for side in "ab"]
    found = compare_results.compare_folders(*pair)
    assert not found.structure
    assert not found.words
    assert found.largest == {"profile.json.static_n[]": 0.0}


def test_a_difference_is_relative_and_in_a_list_to_its_largest_number(tmp_path: Path) -> None:
    before = folder(tmp_path / "a", profile={"peak_n": 200.0, "curve": [1e-15, -50.0]})
    after = folder(tmp_path / "b", profile={"peak_n": 200.0002, "curve": [-1e-15, -50.0]})
    found = compare_results.compare_folders(before, after).largest
    assert found["profile.json.peak_n"] == pytest.approx(1e-6, rel=1e-3)
    assert found["profile.json.curve[]"] == pytest.approx(4e-17)


def test_a_number_that_vanished_differs_without_end(tmp_path: Path) -> None:
    before = folder(tmp_path / "a", profile={"curve": [1.0, 2.0]})
    after = folder(tmp_path / "b", profile={"curve": [1.0, float("nan")]})
    assert compare_results.compare_folders(before, after).largest["profile.json.curve[]"] == float("inf")


def test_changed_structure_and_words_are_reported(tmp_path: Path) -> None:
    before = folder(
        tmp_path / "a", profile={"format": 3, "old": 1, "verdict": "agrees", "list": [1.0]}, capacity={}
    )
    after = folder(tmp_path / "b", profile={"format": 4, "new": 1, "verdict": "differs", "list": [1.0, 2.0]})
    found = compare_results.compare_folders(before, after)
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
    found = compare_results.compare_folders(tmp_path / "a", tmp_path / "b").largest
    assert found["profile.csv.angle_deg[]"] == 0.0
    assert found["profile.csv.static_n[]"] == pytest.approx(1e-3, rel=0.01)
