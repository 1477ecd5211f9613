"""`feltload compare`: differences against the emulated machines' own, and what is taken as common (all invented)."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from checked_recording import write_checked
from feltload.calibration import load_machine
from feltload.emulator import peg_moved, scenario


@pytest.fixture(scope="module")
def folder(feltload, recordings, measured_row, tmp_path_factory) -> Path:
    """Results of the right machine, of the one with its peg further out, and of two days with one load cell."""
    out = tmp_path_factory.mktemp("compare")
    shutil.copytree(measured_row, out / "lever-row")
    loads = [recordings / f"peg-out-{load}kg.mcap" for load in (20, 40)]
    assert feltload("profile", *loads, "--out", out / "peg-out").code == 0
    for day, seed in (("monday", 6), ("friday", 8)):
        write_checked(out / f"{day}.mcap", felt_kg=15.0, seed=seed)
        assert feltload("profile", out / f"{day}.mcap", "--out", out / day).code == 0
    return out


def test_peg_further_out_is_the_heavier_one_by_what_it_truly_is(feltload, recordings, folder):
    done = feltload("compare", folder / "lever-row", folder / "peg-out", "--by", "angle", "--json")
    assert done.code == 0, done.err
    said = json.loads(done.out)
    (found,) = said["differences"]
    start_rad = load_machine(recordings / "lever-row.toml").start_angle.value
    for load in found["loads"]:
        right = scenario("lever-row", load_kg=load["load_kg"])
        q = np.radians(found["angle_deg"]) - start_rad
        truth = right.static_force_n(q) - peg_moved(right, 0.015).static_force_n(q)
        error = np.abs(np.array(load["difference_n"]) - truth)
        assert np.all(error <= np.array(load["difference_curve_u95_n"]))
        assert error.max() < 1.0
        assert load["differs"]
        assert np.all(np.array(load["difference_curve_u95_n"]) >= np.array(load["difference_u95_n"]))
    assert all("peg-out is the heavier one" in sentence for sentence in said["sentences"])
    # What differs does not repeat.
    assert said["repeatability"] == []


def test_two_days_of_one_machine_and_cell_do_not_differ(feltload, folder):
    """The certificate's error is the same on both days: it is taken off, and the band is the narrower for it."""
    words = ("compare", folder / "monday", folder / "friday", "--json")
    said = json.loads(feltload(*words).out)
    (found,) = said["differences"]
    (load,) = found["loads"]
    assert not load["differs"]
    assert "differ by no more than the measurement can show" in said["sentences"][0]
    (repeat,) = said["repeatability"]
    # Of two values the standard deviation is their difference over the root of two.
    squares = np.mean(np.square(load["difference_n"]))
    assert repeat["sd_n"] == pytest.approx(np.sqrt(squares / 2.0))
    # Weir (2005), J Strength Cond Res 19(1):231-240.
    assert repeat["minimal_difference_n"] == pytest.approx(1.96 * np.sqrt(2.0) * repeat["sd_n"])
    assert "in one case of twenty" in said["sentences"][-1]
    kinds = [fact["kind"] for fact in found["assumed"]]
    assert "cell-certificate-shared" in kinds
    assert "machine-file-shared" in kinds
    path = folder / "friday" / "provenance.json"
    kept = path.read_text()
    record = json.loads(kept)
    record["recordings"][0]["force_certificates"] = []
    path.write_text(json.dumps(record))
    try:
        (apart,) = json.loads(feltload(*words).out)["differences"]
    finally:
        path.write_text(kept)
    assert "cell-certificate-missing" in [fact["kind"] for fact in apart["assumed"]]
    narrow, wide = (np.mean(one["loads"][0]["difference_u95_n"]) for one in (found, apart))
    assert narrow < wide


def test_page_of_three_with_one_load(feltload, folder, chromium, tmp_path):
    page = tmp_path / "compared.html"
    names = [folder / name for name in ("lever-row", "peg-out", "monday")]
    done = feltload("compare", *names, "--load", "40 kg", "--by", "travel", "--out", page)
    assert done.code == 0, done.err
    assert "% of the travel" in done.out
    text = page.read_text(encoding="utf-8")
    assert "Invented data" in text
    assert "lever-row, peg-out and monday" in text
    assert "<script" not in text
    # Of force and of friction.
    assert text.count("<figure") == 2
    assert chromium.printed_pages(page, tmp_path) <= 3
    feltload("compare", *names, "--out", page).one_line_error("compared.html", "--force-overwrite")


def test_results_without_a_common_load_are_shown_but_not_subtracted(feltload, recordings, folder, tmp_path):
    light = tmp_path / "light"
    assert feltload("profile", recordings / "lever-row-20kg.mcap", "--out", light).code == 0
    page = tmp_path / "page.html"
    done = feltload("compare", light, folder / "monday", "--out", page, "--json")
    said = json.loads(done.out)
    assert said["differences"] == []
    assert "but not compared" in said["sentences"][0]
    assert [one["load_kg"] for one in said["profiles"]] == [20.0, 40.0]
    assert "light, 20 kg" in page.read_text(encoding="utf-8")
    scaled = feltload("compare", light, folder / "monday", "--scaled", "mean")
    assert scaled.code == 0, scaled.err
    assert "With 20 kg and 40 kg, each as a part of its own mean force" in scaled.out
    # Half of a result is none.
    for name in ("model.npz", "provenance.json"):
        half = tmp_path / f"half-{name}"
        shutil.copytree(light, half)
        (half / name).unlink()
        feltload("compare", light, half).one_line_error(half.name, name)


def test_bad_input(feltload, folder, tmp_path):
    row = folder / "lever-row"
    feltload("compare", row).one_line_error("names 1", "two to 30 results can be compared")
    feltload("compare", row, row).one_line_error("named twice")
    feltload("compare", row, folder / "monday", "--out", tmp_path / "page").one_line_error("page", ".html")
    feltload("compare", row, tmp_path).one_line_error(str(tmp_path))
    feltload("compare", row, folder / "monday", "--load", "20 kg").one_line_error(
        "--load", "monday was not measured with 20 kg", "40 kg"
    )
    feltload("compare", row, folder / "monday", "--load", "20").one_line_error("--load", "unit")
