"""A machine's log: figures kept, changes compared with both uncertainties, machines never mixed."""

from __future__ import annotations

import stat

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, RecordingSource
from feltload.app.jobs.upkeep.health import append_entry, read_health, read_log
from feltload.app.text.upkeep.health import describe_health
from feltload.core import Fact
from feltload.signal import ComplianceFact, FrictionBand, ProfileMethod, save_results

ANGLE = np.radians(np.linspace(0.0, 60.0, 31))


def result(folder, day: int, friction_n: float, u_n: float = 0.5, name: str = "press", **given):
    n = ANGLE.size
    band = FrictionBand(u_n**2 * np.ones((n, n)), np.full((1, n), 1.96 * u_n))
    made = built_estimate(
        ANGLE, 300.0 + 20.0 * np.cos(ANGLE), friction_n=np.full((1, n), friction_n), friction_band=band,
        machine_name=name, method=ProfileMethod.STOPS, **given,
    )  # fmt: skip
    path = folder / f"{name}-{day}"
    save_results(path, made)
    source = RecordingSource(
        name="r", sha256=f"{name}{day}", load_kg=40.0, started_utc=f"2031-01-{day:02d}T10:00:00Z"
    )
    Provenance(feltload="0", recordings=(source,)).save(path)
    return path


def test_a_change_is_reported_where_both_uncertainties_leave_no_doubt(tmp_path) -> None:
    """Independent by hand: 3 N against 1.96 hypot(0.5, 0.5) = 1.39 N, then 0.5 N against the same."""
    log = tmp_path / "log.jsonl"
    first = read_health(result(tmp_path, 1, 6.0), log)
    assert "first measurement" in " ".join(describe_health(first))
    append_entry(first)
    kept = log.read_bytes()
    second = read_health(result(tmp_path, 2, 9.0), log)
    (change,) = second.changes
    assert change.established
    assert change.difference == pytest.approx(3.0)
    assert change.u95 == pytest.approx(1.96 * np.hypot(0.5, 0.5), rel=0.01)
    said = describe_health(second)
    assert "more than on 2031-01-01" in said[0]
    assert "not which part" in said[-1]
    append_entry(second)
    assert log.read_bytes().startswith(kept)
    assert stat.S_IMODE(log.stat().st_mode) == 0o600
    third = read_health(result(tmp_path, 3, 9.5), log)
    assert not third.changes[0].established
    assert "no change that the measurements can show" in describe_health(third)[0]
    # One that is older than the last is compared with what came before it.
    assert len(read_log(log)) == 2


def test_play_is_kept_beside_friction(tmp_path) -> None:
    play = Fact(ComplianceFact.PLAY, figures={"play_rad": 0.01, "u95_rad": 0.001, "count": 8})
    found = read_health(result(tmp_path, 1, 6.0, warnings=(play,)), tmp_path / "log.jsonl")
    assert {value.kind for value in found.entry.values} == {"friction", "play"}
    assert any(line.startswith("Play: 0.573 ± 0.057°") for line in describe_health(found))


def test_machines_and_measurements_are_not_mixed(tmp_path) -> None:
    log = tmp_path / "log.jsonl"
    path = result(tmp_path, 1, 6.0)
    append_entry(read_health(path, log))
    again = read_health(path, log)
    assert again.before is None
    with pytest.raises(UsageError, match="holds this measurement already"):
        append_entry(again)
    with pytest.raises(UsageError, match="is the log of 'press'"):
        read_health(result(tmp_path, 1, 6.0, name="row"), log)
    log.write_text(log.read_text() + "{}\n")
    with pytest.raises(UsageError, match="line 2"):
        read_health(result(tmp_path, 2, 6.0), log)
