"""A machine's log: figures kept, changes compared with both uncertainties, machines never mixed."""

from __future__ import annotations

import stat
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.app.errors import UsageError
from feltload.app.files.provenance import Options, Provenance, RecordingSource
from feltload.app.jobs.upkeep.health import read_health
from feltload.app.jobs.upkeep.log import read_log
from feltload.app.text.upkeep.health import describe_health
from feltload.app.text.upkeep.next_looks import describe_next
from feltload.core import Fact
from feltload.signal import (
    BudgetItem,
    BudgetSource,
    ComplianceFact,
    FrictionBand,
    ProfileMethod,
    save_results,
)

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
    first.keep()
    kept = log.read_bytes()
    second = read_health(result(tmp_path, 2, 9.0), log)
    (change,) = second.arms[0].last.changes
    assert change.established
    assert change.difference == pytest.approx(3.0)
    assert change.u95 == pytest.approx(1.96 * np.hypot(0.5, 0.5), rel=0.01)
    said = describe_health(second)
    assert "more than on 2031-01-01" in said[0]
    assert "not which part" in said[-1]
    second.keep()
    assert log.read_bytes().startswith(kept)
    assert stat.S_IMODE(log.stat().st_mode) == 0o600
    third = read_health(result(tmp_path, 3, 9.5), log)
    assert not third.arms[0].last.changes[0].established
    assert "no change that the measurements can show" in describe_health(third)[0]
    # One that is older than the last is compared with what came before it.
    assert len(read_log(log).entries) == 2


def test_play_is_kept_beside_friction(tmp_path) -> None:
    play = Fact(ComplianceFact.PLAY, figures={"play_rad": 0.01, "u95_rad": 0.001, "count": 8})
    found = read_health(result(tmp_path, 1, 6.0, warnings=(play,)), tmp_path / "log.jsonl")
    assert {value.kind for value in found.arms[0].entry.values} == {"friction", "play"}
    assert any(line.startswith("Play: 0.573 ± 0.057°") for line in describe_health(found))


def test_machines_and_measurements_are_not_mixed(tmp_path) -> None:
    log = tmp_path / "log.jsonl"
    path = result(tmp_path, 1, 6.0)
    read_health(path, log).keep()
    again = read_health(path, log)
    assert again.arms[0].last is None
    with pytest.raises(UsageError, match="holds this measurement already"):
        again.keep()
    with pytest.raises(UsageError, match="is the log of 'press'"):
        read_health(result(tmp_path, 1, 6.0, name="row"), log)
    log.write_text(log.read_text() + "{}\n")
    with pytest.raises(UsageError, match="line 2"):
        read_health(result(tmp_path, 2, 6.0), log)


def bent(folder, day: int, extra_n: float, level_n: float = 6.0):
    """The press with a bell of friction at 30 degrees; errors smooth along the travel."""
    n = ANGLE.size
    smooth = np.exp(-0.5 * ((ANGLE[:, None] - ANGLE) / 0.1) ** 2)
    band = FrictionBand(0.04 * smooth + 1e-6 * np.eye(n), np.full((1, n), 1.96 * 0.2))
    bell = extra_n * np.exp(-0.5 * ((np.degrees(ANGLE) - 30.0) / 4.0) ** 2)
    made = built_estimate(
        ANGLE, 300.0 + 20.0 * np.cos(ANGLE), friction_n=level_n + bell[None], friction_band=band, machine_name="press",
        method=ProfileMethod.STOPS,
    )  # fmt: skip
    return kept(folder, made, day)


def kept(folder, made, day: int, **provenance):
    path = folder / f"{made.machine_name}-{day}-{len(list(folder.iterdir()))}"
    save_results(path, made)
    source = RecordingSource(
        name="r", sha256=path.name, load_kg=40.0, started_utc=f"2031-01-{day:02d}T10:00:00Z",
        force_certificates=("one",),
    )  # fmt: skip
    Provenance(feltload="0", recordings=(source,), **provenance).save(path)
    return path


def test_where_friction_rose_is_named_and_nothing_else(tmp_path) -> None:
    log = tmp_path / "log.jsonl"
    read_health(bent(tmp_path, 1, 0.0), log).keep()
    found = read_health(bent(tmp_path, 2, 4.0), log)
    (change,) = found.arms[0].last.changes
    assert change.curve is not None
    degrees = np.degrees(change.curve.angle_rad)
    apart = change.curve.established
    assert apart[np.abs(degrees - 30.0) < 2.0].all()
    assert not apart[np.abs(degrees - 30.0) > 9.0].any()
    # 41 positions of a bell that is linear between them: what is kept loses nothing.
    assert change.curve.values.max() == pytest.approx(4.0, abs=0.15)
    assert "With 40 kg, compared with 2031-01-01, this measurement has more friction from" in " ".join(
        describe_health(found)
    )
    (step,) = describe_next(found)
    assert "Friction rose since 2031-01-01 from" in step
    assert "maker's instructions" in step
    found.keep()
    same = read_health(bent(tmp_path, 3, 4.0), log)
    assert not same.arms[0].last.changes[0].curve.established.any()
    # The first of all does not have the bell.
    assert same.arms[0].first.changes[0].curve.established.any()
    assert "since 2031-01-01" in " ".join(describe_next(same))


def test_friction_that_rose_everywhere_has_no_place(tmp_path) -> None:
    log = tmp_path / "log.jsonl"
    read_health(bent(tmp_path, 1, 0.0), log).keep()
    risen = bent(tmp_path, 2, 0.0, level_n=9.0)
    found = read_health(risen, log)
    assert found.arms[0].last.changes[0].curve.established.all()
    assert not any("has more friction from" in line for line in describe_health(found))
    (step,) = describe_next(found)
    assert "Friction rose since 2031-01-01 along the travel" in step


def test_the_error_of_one_cell_cancels(tmp_path) -> None:
    """Gain of 20 %: 1.2 N of 6 N, alike in both measurements, beside 0.2 N of their own."""

    def measured(day: int):
        made = built_estimate(
            ANGLE, np.full(ANGLE.size, 300.0), machine_name="press", method=ProfileMethod.STOPS
        )
        n = ANGLE.size
        own = 0.04 * np.ones((n, n)) + 1.2**2 * np.ones((n, n))
        gain = BudgetItem(BudgetSource.FORCE_GAIN, 0.2 * made.static_n)
        band = FrictionBand(own, np.full((1, n), 1.96 * np.sqrt(own[0, 0])))
        return kept(tmp_path, replace(made, friction_band=band, budget=(gain,)), day)

    log = tmp_path / "log.jsonl"
    read_health(measured(1), log).keep()
    (change,) = read_health(measured(2), log).arms[0].last.changes
    assert change.u95 == pytest.approx(1.96 * 0.2 * np.sqrt(2.0), rel=0.01)


def test_another_geometry_or_load_is_not_compared(tmp_path) -> None:
    log = tmp_path / "log.jsonl"

    def measured(day: int, way_m: float, load_kg: float = 40.0):
        n = ANGLE.size
        band = FrictionBand(0.04 * np.ones((n, n)), np.full((1, n), 0.4))
        made = built_estimate(
            ANGLE, np.full(n, 300.0), (load_kg,), friction_band=band, machine_name="row", handle_path_m=way_m * ANGLE,
            method=ProfileMethod.STOPS,
        )  # fmt: skip
        return kept(tmp_path, made, day)

    read_health(measured(1, 0.62), log).keep()
    with pytest.raises(UsageError, match="another geometry: on 2031-01-01 the handle went 65 cm"):
        read_health(measured(2, 0.70), log)
    # A handle measured again to 1 % is the same one.
    near = read_health(measured(2, 0.626), log)
    assert near.arms[0].last.changes[0].curve is not None
    other = read_health(measured(2, 0.62, load_kg=20.0), log)
    assert other.arms[0].last.changes[0].before is None
    assert "no load in common" in " ".join(describe_health(other))


def test_friction_at_stops_is_not_compared_with_that_of_repetitions(tmp_path) -> None:
    log = tmp_path / "log.jsonl"
    read_health(result(tmp_path, 1, 6.0), log).keep()
    log.write_text(log.read_text(encoding="utf-8").replace('"stops"', '"repetitions"'), encoding="utf-8")
    found = read_health(result(tmp_path, 2, 9.0), log)
    assert found.arms[0].last is None
    assert "made in another way are not compared" in " ".join(describe_health(found))


def test_a_line_that_was_cut_is_said_and_kept_beside(tmp_path) -> None:
    log = tmp_path / "log.jsonl"
    read_health(result(tmp_path, 1, 6.0), log).keep()
    whole = log.read_text(encoding="utf-8")
    read_health(result(tmp_path, 2, 6.5), log).keep()
    both = log.read_text(encoding="utf-8")
    for end in (len(whole) + 1, len(whole) + 40, len(both) - 2):
        log.write_text(both[:end], encoding="utf-8")
        found = read_log(log)
        assert len(found.entries) == 1
        assert found.cut == both[len(whole) : end]
    again = read_health(tmp_path / "press-2", log)
    assert "was not written to its end" in describe_health(again)[0]
    again.keep()
    assert log.read_text(encoding="utf-8") == both
    assert (tmp_path / "log.jsonl.cut").read_text(encoding="utf-8") == both[len(whole) : -2]


def test_a_line_of_an_older_log_is_read(tmp_path) -> None:
    """As the first form of the log had it: friction on average alone."""
    log = tmp_path / "log.jsonl"
    log.write_text(
        '{"machine":"press","machine_sha256":null,"measured":"2030-01-01T10:00:00Z","recordings":["a"],'
        '"values":[{"kind":"friction","load_kg":40.0,"value":5.0,"u95":0.5}]}\n',
        encoding="utf-8",
    )
    (change,) = read_health(result(tmp_path, 1, 9.0), log).arms[0].last.changes
    assert change.curve is None
    assert change.difference == pytest.approx(4.0)
    assert change.established


def test_processes_that_keep_at_once_lose_nothing(tmp_path) -> None:
    log = tmp_path / "log.jsonl"
    paths = [result(tmp_path, day, 6.0) for day in range(1, 5)]
    keeping = (
        "import sys; from pathlib import Path; from feltload.app.jobs.upkeep.health import read_health; "
    )
    keeping += "read_health(Path(sys.argv[1]), Path(sys.argv[2])).keep()"
    running = [subprocess.Popen([sys.executable, "-c", keeping, str(path), str(log)]) for path in paths]
    assert [process.wait(timeout=120) for process in running] == [0] * 4
    assert sorted(entry.measured for entry in read_log(log).entries) == [
        f"2031-01-0{d}T10:00:00Z" for d in range(1, 5)
    ]


def test_a_trend_is_the_line_of_the_textbook(tmp_path) -> None:
    """Friction that grows by 0.4 N a week, five times: 0.4 / 7 * 30.4375 N a month; without scatter the bands count."""
    log = tmp_path / "log.jsonl"
    for number, day in enumerate((1, 8, 15, 22)):
        read_health(result(tmp_path, day, 6.0 + 0.4 * number, u_n=0.05), log).keep()
    (trend,) = read_health(result(tmp_path, 29, 7.6, u_n=0.05), log).arms[0].trends
    assert trend.per_month == pytest.approx(0.4 / 7.0 * 365.25 / 12.0)
    months = np.array([1, 8, 15, 22, 29]) / (365.25 / 12.0)
    # u / sqrt(sum (x - mean)^2), Student's 3.182 at three degrees of freedom (JCGM 100:2008, table G.2, from memory).
    assert trend.u95 == pytest.approx(3.182 * 0.05 / np.sqrt(np.sum((months - months.mean()) ** 2)), rel=1e-3)
    assert trend.established


def test_both_arms_are_kept_apart_and_compared(tmp_path) -> None:
    log, both = tmp_path / "log.jsonl", tmp_path / "both"
    both.mkdir()
    options = {side: Options(side=side, both_sides=True) for side in ("left", "right")}
    n = ANGLE.size
    for side, friction_n in (("left", 6.0), ("right", 9.0)):
        band = FrictionBand(0.04 * np.ones((n, n)), np.full((1, n), 1.96 * 0.2))
        made = built_estimate(
            ANGLE, np.full(n, 300.0), friction_n=np.full((1, n), friction_n), friction_band=band,
            machine_name="press", method=ProfileMethod.STOPS,
        )  # fmt: skip
        save_results(both / side, made)
        source = RecordingSource(name="r", sha256="one", load_kg=40.0, started_utc="2031-01-01T10:00:00Z")
        Provenance(feltload="0", recordings=(source,), options=options[side]).save(both / side)
    found = read_health(both, log)
    assert [arm.entry.side for arm in found.arms] == ["left", "right"]
    ((load, difference),) = found.sides
    assert load == 40.0
    assert difference.mean == pytest.approx(-3.0)
    assert difference.mean_u95 == pytest.approx(1.96 * 0.2 * np.sqrt(2.0), rel=0.01)
    said = describe_health(found)
    assert "Friction with 40 kg, left against right: right is the larger by 3.0 ± 0.6 N on average." in said
    found.keep()
    assert len(read_log(log).entries) == 2
    with pytest.raises(UsageError, match="holds this measurement already"):
        found.keep()
