"""Capacity files of the format that had sentences for warnings stay readable, with their numbers."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import (
    CapacityCurve,
    CapacityError,
    CapacitySource,
    PainMark,
    capacity_from_json,
    capacity_to_json,
)
from feltload.core import CommonFact

STORED = Path(__file__).parents[1] / "stored"
FILES = sorted(STORED.glob("capacity-*.json"))
FIRST = json.loads(FILES[0].read_text(encoding="utf-8"))
ANGLE_DEG, FORCE_N, COVARIANCE_N2 = FIRST["angle_deg"], FIRST["force_n"], FIRST["covariance_n2"]


def _few(**changed) -> dict:
    return {
        "angle_deg": [0.0, 300.0],
        "force_n": [0.0, 9.0],
        "covariance_n2": [[1e6, 0.0], [0.0, 0.0]],
        **changed,
    }


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_numbers_and_warnings_of_an_older_file_are_kept(path: Path, tmp_path: Path) -> None:
    stored = json.loads(path.read_text(encoding="utf-8"))
    curve, machine = capacity_from_json(path)
    assert machine == stored["machine"]
    assert np.rad2deg(curve.angle_rad) == pytest.approx(stored["angle_deg"], abs=1e-9)
    assert curve.force_n == pytest.approx(stored["force_n"], abs=1e-9)
    assert curve.covariance_n2 == pytest.approx(np.array(stored["covariance_n2"]), abs=1e-9)
    assert curve.u_n == pytest.approx(stored["u_n"], abs=1e-6)
    assert len(curve.holds) == len(stored["holds"])
    assert [fact.figures["text"] for fact in curve.warnings] == stored["warnings"]
    assert {fact.kind for fact in curve.warnings} <= {CommonFact.SAID}
    # Written again, and read again, it is the same curve.
    again = tmp_path / "again.json"
    again.write_text(capacity_to_json(curve, machine=machine), encoding="utf-8")
    rewritten, _ = capacity_from_json(again)
    assert rewritten.warnings == curve.warnings
    assert rewritten.force_n == pytest.approx(curve.force_n, abs=1e-6)


def test_marks_and_the_curve_of_all_holds_are_kept(tmp_path: Path) -> None:
    angle = np.deg2rad([0.0, 30.0, 60.0])
    every = CapacityCurve(angle, np.array([410.0, 400.0, 390.0]), 9.0 * np.eye(3), CapacitySource.HOLDS)
    marks = (
        PainMark(np.deg2rad(10.0), np.deg2rad(20.0), "2031-01-01", "2031-02-01"),
        PainMark(np.deg2rad(40.0), np.deg2rad(50.5), "2031-02-01"),
    )
    lowest = every.force_n - 30.0
    curve = replace(
        every, force_n=lowest + 10.0, painful=marks, all_holds=every, lowest_n=lowest, side="left"
    )
    path = tmp_path / "capacity.json"
    path.write_text(capacity_to_json(curve, machine="invented lever"), encoding="utf-8")
    read, machine = capacity_from_json(path)
    assert (machine, read.side, read.invented) == ("invented lever", "left", False)
    assert [(mark.added, mark.removed) for mark in read.painful] == [
        (mark.added, mark.removed) for mark in marks
    ]
    assert np.rad2deg(read.painful_rad) == pytest.approx(np.array([[40.0, 50.5]]))
    assert read.all_holds is not None
    assert read.all_holds.force_n - read.force_n == pytest.approx([20.0, 20.0, 20.0])
    assert read.all_holds.u_n == pytest.approx([3.0, 3.0, 3.0])
    assert read.lowest_n == pytest.approx(lowest)
    assert len(read.unmarked) == 3


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"painful": [{"low_deg": 20.0, "high_deg": 10.0}]}, "low_deg must be below high_deg"),
        ({"painful": [{"low_deg": 20.0, "high_deg": 20.0}]}, "low_deg must be below high_deg"),
        ({"force_n": [1.0]}, "differ in length"),
        ({"force_n": "much"}, r"force_n: "),
        ({"force_n": FORCE_N[:-1] + [20_001.0]}, "a force in it is none of a person"),
        ({"force_n": [-1.0] + FORCE_N[1:]}, "a force in it is none of a person"),
        ({"force_n": [0.0] * len(FORCE_N)}, "a force in it is none of a person"),
        ({"angle_deg": ANGLE_DEG[:1] + ANGLE_DEG[:-1]}, "its angles do not rise through part of a turn"),
        ({"angle_deg": ANGLE_DEG[1::-1] + ANGLE_DEG[2:]}, "its angles do not rise through part of a turn"),
        (
            {"angle_deg": ANGLE_DEG[:-1] + [ANGLE_DEG[0] + 361.0]},
            "its angles do not rise through part of a turn",
        ),
        (
            {"all_holds": _few(force_n=[float("nan"), 9.0])},
            r"all_holds\.force_n\.0: Input should be a finite number",
        ),
        ({"all_holds": _few(lowest_n=[0.0])}, "lowest_n in it is no curve of a person"),
        ({"all_holds": _few(lowest_n=[-1.0, 0.0])}, "lowest_n in it is no curve of a person"),
        ({"all_holds": _few(lowest_n=[0.0, 20_001.0])}, "lowest_n in it is no curve of a person"),
        ({"covariance_n2": [row[:-1] for row in COVARIANCE_N2]}, "its covariance is not square"),
        ({"covariance_n2": (-np.array(COVARIANCE_N2)).tolist()}, "a variance in it is negative"),
        ({"covariance_n2": np.tril(COVARIANCE_N2).tolist()}, "its covariance is not symmetric"),
        ({"covariance_n2": (1e9 * np.eye(len(FORCE_N))).tolist()}, "larger than any force of a person"),
    ],
)
def test_what_is_no_capacity_names_the_file_and_the_key(tmp_path: Path, changed: dict, said: str) -> None:
    path = tmp_path / "capacity.json"
    path.write_text(json.dumps({**FIRST, **changed}), encoding="utf-8")
    with pytest.raises(CapacityError, match=said) as refused:
        capacity_from_json(path)
    assert "capacity.json" in str(refused.value)
    with pytest.raises(CapacityError, match="no such file"):
        capacity_from_json(tmp_path / "another.json")


def test_two_angles_known_exactly_or_to_a_kilonewton_are_a_curve(tmp_path: Path) -> None:
    """Somebody was measured unless the file says otherwise."""
    path = tmp_path / "capacity.json"
    content = {**FIRST, **_few(), "u_n": [1e3, 0.0], "all_holds": _few(lowest_n=[0.0, 8.0])}
    content.pop("invented", None)
    path.write_text(json.dumps(content), encoding="utf-8")
    curve, _ = capacity_from_json(path)
    assert curve.u_n == pytest.approx([1000.0, 0.0])
    assert curve.lowest_n == pytest.approx([0.0, 8.0])
    assert not curve.invented


def test_there_is_one_of_each_way_to_measure() -> None:
    assert {capacity_from_json(path)[0].source for path in FILES} == {"holds", "slow repetitions", "table"}
    assert any(capacity_from_json(path)[0].warnings for path in FILES)


def test_a_warning_that_is_no_fact_names_the_file(tmp_path: Path) -> None:
    path = tmp_path / "capacity.json"
    path.write_text(json.dumps({**FIRST, "warnings": [{"severity": "caution"}]}), encoding="utf-8")
    with pytest.raises(CapacityError, match=r"capacity\.json: warnings"):
        capacity_from_json(path)
