"""A client's folder, and change against measurement noise."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from feltload.coaching import (
    ClientFileError,
    ClientFolder,
    PainMark,
    SessionRecord,
    latest_changes,
)

STORED = Path(__file__).parents[1] / "stored"


def _session(date: str, kind: str = "capacity") -> SessionRecord:
    return SessionRecord(date=date, kind=kind, machine="invented lever", values={"peak_n": 410.0})


def test_a_code_is_made_when_no_name_is_given(tmp_path: Path) -> None:
    folder = ClientFolder.create(tmp_path)
    assert len(folder.record.code) == 6
    assert ClientFolder.open(tmp_path / folder.record.code).record == folder.record


def test_sessions_are_kept_beside_each_other_and_deleted_for_good(tmp_path: Path) -> None:
    folder = ClientFolder.create(tmp_path / "clients" / "here", code="A1")
    kept = [folder.keep(_session("2031-02-01")) for _ in range(2)]
    folder.keep(_session("2031-01-01"))
    assert [path.name for path in kept] == ["2031-02-01-capacity-1.json", "2031-02-01-capacity-2.json"]
    assert [s.date for s in folder.sessions()] == ["2031-01-01", "2031-02-01", "2031-02-01"]
    folder.delete()
    assert not folder.path.exists()


def test_a_taken_or_impossible_code_is_refused(tmp_path: Path) -> None:
    ClientFolder.create(tmp_path, code="A1")
    with pytest.raises(ClientFileError, match="exists already"):
        ClientFolder.create(tmp_path, code="A1")
    with pytest.raises(ClientFileError, match="cannot be a code"):
        ClientFolder.create(tmp_path, code="../A1")


def test_a_folder_that_cannot_be_made_is_told_from_a_code_that_is_taken(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("x")
    with pytest.raises(ClientFileError, match=r"cannot be created.*choose a folder you may write to"):
        ClientFolder.create(tmp_path / "notes.txt", code="A1")


def test_a_head_is_plain_json_that_a_person_can_read(tmp_path: Path) -> None:
    folder = ClientFolder.create(tmp_path, code="A1", note="linke Schulter, müde")
    assert '"note": "linke Schulter, müde"' in (folder.path / "client.json").read_text(encoding="utf-8")


def test_marks_are_those_of_a_machine_and_a_side(tmp_path: Path) -> None:
    """Marks of no side concern both; those of the other side or machine neither show nor are touched."""
    folder = ClientFolder.create(tmp_path, code="A1")
    both, left, right, other = (PainMark(0.1 * k, 0.1 * k + 0.05, f"2031-01-0{k}") for k in range(1, 5))
    folder = folder.mark("row", None, [both])
    folder = folder.mark("row", "left", [both, left])
    folder.mark("row", "right", [both, right])
    # What was opened before another command wrote is no reason to lose that.
    folder = folder.mark("press", "left", [other])

    def dates(machine: str, side: str | None) -> list[str]:
        return sorted(mark.added for mark in ClientFolder.open(folder.path).painful_on(machine, side))

    assert dates("row", "left") == ["2031-01-01", "2031-01-02"]
    assert dates("row", "right") == ["2031-01-01", "2031-01-03"]
    assert dates("row", None) == ["2031-01-01", "2031-01-02", "2031-01-03"]
    assert dates("press", "left") == dates("press", None) == ["2031-01-04"]
    assert dates("press", "right") == []
    sides = {pain.added: pain.side for pain in folder.record.painful}
    assert sides == {"2031-01-01": None, "2031-01-02": "left", "2031-01-03": "right", "2031-01-04": "left"}
    # Without a side, all of the machine's are replaced, each with the side that it had.
    later = folder.mark("row", None, [both, replace(left, removed="2031-02-01")])
    assert dates("row", "right") == ["2031-01-01"] and len(later.painful_on("press", "left")) == 1
    (removed,) = [pain for pain in later.record.painful if pain.removed]
    assert (removed.side, removed.mark.stands) == ("left", False)


def test_a_damaged_file_names_file_and_key(tmp_path: Path) -> None:
    folder = ClientFolder.create(tmp_path, code="A1")
    kept = folder.keep(_session("2031-02-01"))
    content = json.loads(kept.read_text())
    content["values"] = {"peak_n": "much"}
    kept.write_text(json.dumps(content))
    with pytest.raises(ClientFileError, match=r"capacity-1\.json: values"):
        folder.sessions()
    with pytest.raises(ClientFileError, match="not a client's folder"):
        ClientFolder.open(tmp_path)


@pytest.mark.parametrize(("after_n", "beyond"), [(410.0, False), (460.0, True)])
def test_change_is_compared_with_the_noise(after_n: float, beyond: bool) -> None:
    """Both values have 20 N at k = 2, so 10 N of standard uncertainty: noise is 1.96 x sqrt(2) x 10 N = 27.7 N."""
    kept = [
        _session(date).model_copy(update={"values": {"peak_n": force_n}, "u95": {"peak_n": 20.0}})
        for date, force_n in (("2031-01-01", 380.0), ("2031-02-01", 400.0), ("2031-03-01", after_n))
    ]
    (change,) = latest_changes(kept)
    assert (change.before, change.after, change.before_date) == (400.0, after_n, "2031-02-01")
    assert change.minimal_difference == pytest.approx(27.72, abs=0.01)
    assert change.beyond_noise is beyond


def test_changes_are_those_of_forces_with_a_band_on_each_side() -> None:
    """Two sessions of the left and one of the right: one change, of the force that has a band in both."""
    values = {"peak_n": 400.0, "mean_n": 300.0, "evenness": 0.8}
    sessions = [
        _session(date).model_copy(
            update={
                "side": side,
                "values": {**values, "peak_n": peak_n},
                "u95": {"peak_n": u95, "evenness": 0.1},
            }
        )
        for date, side, peak_n, u95 in (
            ("2031-01-01", "left", 400.0, 12.0),
            ("2031-01-01", "right", 350.0, 12.0),
            ("2031-02-01", "left", 380.0, 16.0),
        )
    ]
    (change,) = latest_changes(sessions)
    assert (change.name, change.side, change.change) == ("peak_n", "left", -20.0)
    assert (change.before_date, change.after_date) == ("2031-01-01", "2031-02-01")
    # 1.96 sqrt(6² + 8²) = 19.6 N.
    assert change.minimal_difference == pytest.approx(19.6, abs=0.001)
    assert change.beyond_noise


def test_nothing_kept_twice_has_no_change() -> None:
    other_machine = _session("2031-02-01").model_copy(update={"machine": "another lever"})
    assert latest_changes([_session("2031-01-01"), other_machine]) == ()


def test_a_folder_written_before_stays_readable() -> None:
    folder = ClientFolder.open(STORED / "client-A1")
    assert folder.record.code == "A1"
    sessions = folder.sessions()
    stored = [json.loads(path.read_text()) for path in sorted(folder.path.glob("2*.json"))]
    assert [session.model_dump(exclude={"painful_deg"}) for session in sessions] == stored
    assert not folder.record.painful and not any(session.painful_deg for session in sessions)
    assert len(latest_changes(sessions)) == 1


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_files_about_a_person_are_the_owners_alone(tmp_path: Path) -> None:
    folder = ClientFolder.create(tmp_path, code="A1")
    kept = folder.keep(_session("2031-02-01"))
    assert kept.stat().st_mode & 0o777 == 0o600
    assert folder.path.stat().st_mode & 0o777 == 0o700
    assert not list(folder.path.glob(".*"))
