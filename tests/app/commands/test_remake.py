"""`feltload remake`: the same numbers from what a result's folder keeps, or what differs."""

from __future__ import annotations

import json
import shutil

import numpy as np
import pytest

from feltload.app.cli import main
from feltload.app.files.provenance import load_provenance
from feltload.app.jobs.remaking.comparing import compare_folders


def test_a_result_is_made_again_bit_for_bit_from_its_folder_alone(feltload, recordings, tmp_path) -> None:
    """Another machine file and a place were given; recordings lie elsewhere, under another name."""
    machine = tmp_path / "machine.toml"
    machine.write_text(
        (recordings / "lever-row.toml").read_text(encoding="utf-8").replace("lever-row", "my row", 1),
        encoding="utf-8",
    )
    words = ("--machine", machine, "--latitude", "52 deg", "--unhelped", "--out", tmp_path / "row")
    assert feltload("profile", recordings / "lever-row-40kg.mcap", *words).code == 0
    assert feltload("check", tmp_path / "row", "--machine", machine).code == 0
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
    for name in ("profile.csv", "profile.json", "agreement.json"):
        assert (again / name).read_bytes() == (tmp_path / "row" / name).read_bytes()
    made = load_provenance(tmp_path / "row")
    assert made.libraries["numpy"] == np.__version__
    assert made.options is not None
    assert made.options.unhelped
    # A number that was changed is found, and by how much.
    with np.load(again / "model.npz") as store:
        arrays = dict(store)
    arrays["covariance_n2"] = arrays["covariance_n2"] * 1.01
    np.savez(again / "model.npz", **arrays)
    (found,) = compare_folders(tmp_path / "row", again).above().items()
    assert found == ("model.npz.covariance_n2", pytest.approx(0.01, rel=0.02))


def test_a_study_is_made_again_beside_what_it_names(measured_row, tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(measured_row, tmp_path / "row")
    (tmp_path / "rows.toml").write_text(
        'name = "rows"\n[[measurements]]\nfile = "row"\nmachine = "a"\nday = "1"\n', encoding="utf-8"
    )
    assert main(["study", "rows.toml", "--out", "study", "--quiet"]) == 0
    (tmp_path / "study" / "mine.csv").write_text("a\n1\n", encoding="utf-8")
    capsys.readouterr()
    assert main(["remake", "study", "--out", "again", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["bit_for_bit"] is True
    assert said["not_made_again"] == ["mine.csv"]
    with (tmp_path / "rows.toml").open("a") as file:
        file.write("# changed\n")
    assert main(["remake", "study", "--out", "other"]) == 2
    assert "rows.toml: has changed since study was made from it" in capsys.readouterr().err
    assert main(["remake", str(measured_row), "--recordings", "row", "--out", "other"]) == 2
    assert "lever-row-20kg.mcap of" in capsys.readouterr().err
    (tmp_path / "nothing").mkdir()
    assert main(["remake", "nothing", "--out", "other"]) == 2
    assert "nothing: does not say how it was made" in capsys.readouterr().err
    assert not (tmp_path / "other").exists()


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
