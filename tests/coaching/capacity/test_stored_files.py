"""Capacity files of the format that had sentences for warnings stay readable, with their numbers."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import CapacityError, capacity_from_json, capacity_to_json
from feltload.core import CommonFact

STORED = Path(__file__).parents[1] / "stored"
FILES = sorted(STORED.glob("capacity-*.json"))


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


def test_there_is_one_of_each_way_to_measure() -> None:
    assert {capacity_from_json(path)[0].source for path in FILES} == {"holds", "slow repetitions", "table"}
    assert any(capacity_from_json(path)[0].warnings for path in FILES)


def test_a_warning_that_is_no_fact_names_the_file(tmp_path: Path) -> None:
    content = json.loads(FILES[0].read_text(encoding="utf-8"))
    path = tmp_path / "capacity.json"
    path.write_text(json.dumps({**content, "warnings": [{"severity": "caution"}]}), encoding="utf-8")
    with pytest.raises(CapacityError, match=r"capacity\.json: warnings"):
        capacity_from_json(path)
