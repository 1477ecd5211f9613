"""`feltload health` on the emulated rowing lever: what changed is found where it did, nothing else (all invented)."""

from __future__ import annotations

import json

import numpy as np
import pytest

from checked_recording import write_checked
from feltload.emulator import TightSpot

SPOT = TightSpot(at_rad=float(np.radians(45.0)), extra_n=5.0, width_rad=float(np.radians(4.0)))


@pytest.fixture(scope="module")
def folder(feltload, tmp_path_factory):
    """Three measurements of one machine with one cell: a guide is bent before the third."""
    out = tmp_path_factory.mktemp("health")
    for name, seed, day, spot in (
        ("june", 6, "06-01", None),
        ("july", 8, "07-01", None),
        ("august", 9, "08-01", SPOT),
    ):
        started = f"2026-{day}T10:00:00+00:00"
        write_checked(out / f"{name}.mcap", felt_kg=15.0, seed=seed, spot=spot, started_utc=started)
        done = feltload("profile", out / f"{name}.mcap", "--out", out / name)
        assert done.code == 0, done.err
    return out


def test_friction_that_rose_at_a_place_is_found_there_and_nowhere_else(feltload, folder, chromium, tmp_path):
    log, page = tmp_path / "log.jsonl", tmp_path / "health.html"
    first = feltload("health", folder / "june", "--log", log, "--keep")
    assert first.code == 0, first.err
    assert "nothing to compare it with yet" in first.out and "No change was found" not in first.out
    same = feltload("health", folder / "july", "--log", log, "--keep")
    assert "no change that the measurements can show" in same.out
    assert "No change was found that asks for a look" in same.out
    assert "safe to use" not in same.out
    done = feltload("health", folder / "august", "--log", log, "--page", page, "--json")
    assert done.code == 0, done.err
    (arm,) = json.loads(done.out)["arms"]
    # Compared with July and with June.
    assert [since["measured"][:10] for since in arm["since"]] == ["2026-07-01", "2026-06-01"]
    for since in arm["since"]:
        (change,) = (one for one in since["changes"] if one["kind"] == "friction")
        found = change["by_position"]
        q = np.array(found["angle_deg"]) - found["angle_deg"][0]
        gap, band = np.array(found["difference_n"]), np.array(found["difference_curve_u95_n"])
        apart = np.abs(gap) > band
        away = np.abs(q - 45.0)
        assert apart[away < 2.0].all()
        assert gap[away < 2.0].max() == pytest.approx(5.0, abs=band.max())
        assert not apart[away > 14.0].any()
    text = page.read_text(encoding="utf-8")
    assert "Friction rose since 2026-07-01 from" in text
    assert "maker" in text
    assert "nor whether the machine is safe" in text
    # Friction with what changed, and the log: two figures.
    assert text.count("<figure") == 2
    assert chromium.printed_pages(page, tmp_path) <= 3
    feltload("health", folder / "august", "--log", log, "--page", page).one_line_error(
        "health.html", "--force-overwrite"
    )
    # Nothing was added to the log without --keep.
    assert len(log.read_text(encoding="utf-8").splitlines()) == 2


def test_bad_input(feltload, folder, tmp_path):
    feltload("health", folder, "--log", tmp_path / "log").one_line_error(str(folder))
    missing = tmp_path / "nowhere" / "log.jsonl"
    feltload("health", folder / "june", "--log", missing, "--keep").one_line_error(
        "nowhere", "no such directory"
    )
    log = tmp_path / "log.jsonl"
    log.write_text("not a line of a log\n", encoding="utf-8")
    feltload("health", folder / "june", "--log", log).one_line_error("log.jsonl", "line 1")
