"""A client's folder, and change against measurement noise."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from feltload.coaching import (
    ClientFileError,
    ClientFolder,
    CoachingError,
    SessionRecord,
    latest_changes,
    minimal_difference,
    repeatability,
)
from published_data import published

STORED = Path(__file__).parents[1] / "stored"


def _session(date: str, kind: str = "capacity") -> SessionRecord:
    return SessionRecord(date=date, kind=kind, machine="invented lever", values={"peak_n": 410.0})


def test_a_code_is_made_when_no_name_is_given(tmp_path: Path) -> None:
    folder = ClientFolder.create(tmp_path)
    assert len(folder.record.code) == 6
    assert ClientFolder.open(tmp_path / folder.record.code).record == folder.record


def test_sessions_are_kept_beside_each_other_and_deleted_for_good(tmp_path: Path) -> None:
    folder = ClientFolder.create(tmp_path, code="A1")
    first = folder.keep(_session("2031-02-01"))
    second = folder.keep(_session("2031-02-01"))
    folder.keep(_session("2031-01-01"))
    assert first != second
    assert [s.date for s in folder.sessions()] == ["2031-01-01", "2031-02-01", "2031-02-01"]
    folder.delete()
    assert not folder.path.exists()


def test_a_taken_or_impossible_code_is_refused(tmp_path: Path) -> None:
    ClientFolder.create(tmp_path, code="A1")
    with pytest.raises(ClientFileError, match="exists already"):
        ClientFolder.create(tmp_path, code="A1")
    with pytest.raises(ClientFileError, match="cannot be a code"):
        ClientFolder.create(tmp_path, code="../A1")


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


def test_minimal_difference_of_weir() -> None:
    """Weir (2005): MD = SEM x 1.96 x sqrt(2), so 2.77 SEM."""
    assert minimal_difference(1.0) == pytest.approx(2.772, abs=5e-4)


def test_standard_error_of_measurement_is_the_root_of_the_error_mean_square() -> None:
    """Shrout & Fleiss (1979), as in Weir (2005): the mean square within targets is printed as 6.26."""
    given = published("shrout_fleiss")
    found = repeatability(given["ratings"])
    assert found.sem**2 == pytest.approx(given["within_mean_square"], abs=0.005)
    # Recomputed from the ratings, not printed: 112.75 over 18.
    assert found.sem**2 == pytest.approx(112.75 / 18.0, rel=1e-12)
    assert found.degrees_of_freedom == 18
    with pytest.raises(CoachingError):
        repeatability([[1.0], [2.0]])


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
