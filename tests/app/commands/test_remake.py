"""`feltload remake`: the same numbers from what a result's folder keeps, or what differs."""

from __future__ import annotations

import json
import shutil

import numpy as np

from feltload.app.files.provenance import load_provenance
from feltload.app.jobs.measuring.remaking import compare_folders


def test_a_result_is_made_again_bit_for_bit_from_its_folder_alone(feltload, recordings, tmp_path) -> None:
    """Another machine file and a place were given; recordings lie elsewhere, under another name."""
    machine = tmp_path / "machine.toml"
    machine.write_text(
        (recordings / "lever-row.toml").read_text(encoding="utf-8").replace("lever-row", "my row", 1),
        encoding="utf-8",
    )
    words = ("--machine", machine, "--latitude", "52 deg", "--unhelped", "--out", tmp_path / "row")
    assert feltload("profile", recordings / "lever-row-40kg.mcap", *words).code == 0
    machine.unlink()
    (tmp_path / "archive" / "2026").mkdir(parents=True)
    shutil.copy(recordings / "lever-row-40kg.mcap", tmp_path / "archive" / "2026" / "renamed.mcap")
    shutil.copy(recordings / "lever-row-20kg.mcap", tmp_path / "archive" / "lever-row-40kg.mcap")
    again = tmp_path / "again"
    done = feltload(
        "remake", tmp_path / "row", "--recordings", tmp_path / "archive", "--out", again, "--json"
    )
    assert done.code == 0, done.err
    assert json.loads(done.out)["same"] is True
    for name in ("profile.csv", "profile.json"):
        assert (again / name).read_bytes() == (tmp_path / "row" / name).read_bytes()
    made = load_provenance(tmp_path / "row")
    assert made.libraries["numpy"] == np.__version__
    assert made.options is not None
    assert made.options.unhelped
    # A number that was changed is found, and by how much.
    with np.load(again / "model.npz") as store:
        arrays = dict(store)
    arrays["static_n"] = arrays["static_n"] * 1.01
    np.savez(again / "model.npz", **arrays)
    (found,) = compare_folders(tmp_path / "row", again)
    assert found.name == "static_n"
    assert found.relative is not None
    assert abs(found.relative - 0.01) < 1e-6


def test_what_cannot_be_made_again_is_said_in_one_line(feltload, measured_row, tmp_path) -> None:
    old = tmp_path / "old"
    shutil.copytree(measured_row, old)
    path = old / "provenance.json"
    kept = json.loads(path.read_text(encoding="utf-8"))
    del kept["options"]
    path.write_text(json.dumps(kept), encoding="utf-8")
    feltload("remake", old, "--out", tmp_path / "a").one_line_error(
        "does not say how it was made", "feltload profile"
    )
    (tmp_path / "empty").mkdir()
    words = ("remake", measured_row, "--recordings", tmp_path / "empty", "--out", tmp_path / "b")
    feltload(*words).one_line_error("lever-row-20kg.mcap", "--recordings")
