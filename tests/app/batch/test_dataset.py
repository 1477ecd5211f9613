"""A folder of recordings to a dataset: read by other programs, gone on with, and what failed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pyarrow.parquet as pq
import pytest

from feltload.app.batch.columns import Table
from feltload.signal import load_results


@pytest.fixture(scope="module")
def folder(recordings, tmp_path_factory) -> Path:
    """Two loads of one machine, holds of a person, and a file that is no recording."""
    out = tmp_path_factory.mktemp("recordings")
    for name in ("lever-row-20kg", "lever-row-40kg", "client-holds"):
        shutil.copy(recordings / f"{name}.mcap", out)
    (out / "broken.mcap").write_bytes(b"not a recording")
    return out


@pytest.fixture(scope="module")
def dataset(feltload, folder, tmp_path_factory) -> Path:
    """To be read only."""
    out = tmp_path_factory.mktemp("batch") / "dataset"
    done = feltload("batch", folder, "--out", out, "--processes", "2", "--json", timeout_s=300)
    assert done.code == 0, done.err
    said = json.loads(done.out)
    assert said["measured"] == 2
    assert {item["measurement"] for item in said["failed"]} == {"broken", "client-holds"}
    return out


def contents(dataset: Path) -> dict[str, bytes]:
    return {str(path.relative_to(dataset)): path.read_bytes() for path in sorted(dataset.rglob("*.parquet"))}


def test_three_readers_see_the_same_rows(dataset) -> None:
    by_pandas = pd.read_parquet(dataset / "profiles")
    by_polars = pl.read_parquet(dataset / "profiles" / "*.parquet")
    by_duckdb = duckdb.sql(f"select * from '{dataset}/profiles/*.parquet'").fetchdf()
    keys = ["measurement", "direction", "rotation_deg"]
    texts = {"measurement": str, "direction": str}
    expected = by_pandas.astype(texts).sort_values(keys)["force_n"].to_numpy()
    for frame in (by_polars.to_pandas(), by_duckdb):
        found = frame.astype(texts).sort_values(keys)["force_n"]
        np.testing.assert_array_equal(found.to_numpy(), expected)
    assert list(by_polars.columns) == list(by_pandas.columns)


def test_a_dataset_is_made_again_from_its_recordings(feltload, folder, dataset, tmp_path) -> None:
    words = ("--recordings", folder, "--out", tmp_path / "again", "--json")
    done = feltload("remake", dataset, *words, timeout_s=300)
    assert done.code == 0, done.out + done.err
    assert json.loads(done.out)["bit_for_bit"] is True


def test_rows_are_those_of_a_profile(feltload, folder, dataset, tmp_path) -> None:
    assert feltload("profile", folder / "lever-row-40kg.mcap", "--out", tmp_path / "one").code == 0
    estimate = load_results(tmp_path / "one")
    rows = pd.read_parquet(dataset / "profiles").query("measurement == 'lever-row-40kg'")
    for direction, force_n, passes in (
        ("still", estimate.static_n[0], estimate.raising_count[0] + estimate.lowering_count[0]),
        ("raising", estimate.raising_n[0], estimate.raising_count[0]),
        ("lowering", estimate.lowering_n[0], estimate.lowering_count[0]),
    ):
        block = rows[rows["direction"] == direction]
        np.testing.assert_array_equal(block["force_n"], force_n)
        np.testing.assert_array_equal(block["passes"], passes)
        np.testing.assert_allclose(block["angle_deg"], np.degrees(estimate.angle_rad), rtol=1e-12)
        assert (block["force_u95_n"] >= estimate.static_u95_n[0]).all()
    summary = json.loads((tmp_path / "one" / "profile.json").read_text())
    scalars = pd.read_parquet(dataset / "scalars").set_index("measurement").loc["lever-row-40kg"]
    assert scalars["peak_n"] == summary["peak"]["force_n"]
    assert scalars["drop_off_percent"] == summary["drop_off_percent"]
    assert scalars["shape"] == summary["shape"]
    assert scalars["friction_n"] == summary["friction"]["mean_n"]
    assert 0.0 < scalars["mean_u95_n"] <= estimate.static_u95_n.max()
    provenance = json.loads((tmp_path / "one" / "provenance.json").read_text())
    source = pd.read_parquet(dataset / "recordings").set_index("measurement").loc["lever-row-40kg"]
    assert source["sha256"] == provenance["recordings"][0]["sha256"]
    assert set(rows["feltload"]) == {provenance["feltload"]}
    # The shipped recordings are of an emulated machine.
    assert provenance["invented"]
    assert rows["invented"].all()


def test_what_failed_is_listed_with_its_reason(dataset) -> None:
    rows = pd.read_parquet(dataset / "measurements").set_index("measurement")
    assert list(rows["outcome"].loc[["broken", "client-holds"]]) == ["failed", "failed"]
    assert rows["invented"].isna().loc[["broken", "client-holds"]].all()
    assert "holds" in rows["reason"].loc["client-holds"]
    assert "broken.mcap" in rows["reason"].loc["broken"]


def test_a_half_written_dataset_is_gone_on_with(feltload, folder, dataset, tmp_path) -> None:
    """Killed between two files of a part: its profiles are there, the file that says it is done is not."""
    half = tmp_path / "dataset"
    shutil.copytree(dataset, half)
    before = contents(half)
    (half / Table.MEASUREMENTS / "part-00002.parquet").unlink()
    (half / Table.SCALARS / "part-00002.parquet").write_bytes(b"cut")
    (half / Table.PROFILES / ".part-00002.parquet.0123.part").write_bytes(b"cut")
    untouched = (half / Table.PROFILES / "part-00001.parquet").stat().st_mtime_ns
    assert feltload("batch", folder, "--out", half, timeout_s=300).code == 0
    assert contents(half) == before
    assert not list(half.rglob(".*.part"))
    assert (half / Table.PROFILES / "part-00001.parquet").stat().st_mtime_ns == untouched


def test_new_recordings_are_taken_in_and_other_options_refused(
    feltload, folder, recordings, dataset, tmp_path
) -> None:
    """Elsewhere, too: what counts is the recordings' names and sizes."""
    grown, more = tmp_path / "dataset", tmp_path / "more"
    shutil.copytree(dataset, grown)
    shutil.copytree(folder, more)
    shutil.copy(recordings / "peg-out-40kg.mcap", more / "peg.mcap")
    done = feltload("batch", more, "--out", grown, "--json", timeout_s=300)
    assert json.loads(done.out)["measured"] == 3, done.err
    before, after = contents(dataset), contents(grown)
    assert all(after[name] == data for name, data in before.items() if name != "plan.parquet")
    feltload("batch", folder, "--out", grown, "--unhelped").one_line_error(
        "--force-overwrite", "other options"
    )
    about = json.loads((grown / "dataset.json").read_text())
    (grown / "dataset.json").write_text(json.dumps({**about, "format": 1}))
    feltload("batch", more, "--out", grown).one_line_error("older version", "--force-overwrite")
    (grown / "dataset.json").write_text(json.dumps(about))
    (grown / "plan.parquet").write_bytes(b"cut")
    feltload("batch", folder, "--out", grown).one_line_error("plan.parquet", "damaged")


def test_a_table_says_what_belongs_together(feltload, folder, dataset, tmp_path) -> None:
    table = folder / "both.toml"
    table.write_text(
        '[options]\nlatitude = "52 deg"\n\n[[measurement]]\nname = "row"\n'
        'recordings = ["lever-row-20kg.mcap", "lever-row-40kg.mcap"]\nlabels = { operator = "A" }\n',
        encoding="utf-8",
    )
    assert feltload("batch", table, "--out", tmp_path / "out", timeout_s=300).code == 0
    scalars = pd.read_parquet(tmp_path / "out" / "scalars")
    assert list(scalars["load_kg"]) == [20.0, 40.0]
    assert set(scalars["operator"]) == {"A"}
    assert len(pd.read_parquet(tmp_path / "out" / "recordings")) == 2
    table.write_text('[[measurement]]\nrecordings = ["a.mcap"]\nloud = true\n', encoding="utf-8")
    feltload("batch", table, "--out", tmp_path / "no").one_line_error("both.toml", "loud")
    table.write_text(
        '[[measurement]]\nrecordings = ["a.mcap"]\nlabels = { machine = "A" }\n', encoding="utf-8"
    )
    feltload("batch", table, "--out", tmp_path / "no").one_line_error("machine", "call it otherwise")
    table.unlink()
    assert not (tmp_path / "no").exists()


def test_nothing_to_measure_is_said_in_one_line(feltload, tmp_path, folder) -> None:
    (tmp_path / "empty").mkdir()
    feltload("batch", tmp_path / "empty", "--out", tmp_path / "out").one_line_error("no recording")
    feltload("batch", tmp_path / "none.toml", "--out", tmp_path / "out").one_line_error("no such folder")
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "notes.txt").write_text("mine")
    feltload("batch", folder, "--out", tmp_path / "full").one_line_error("already exists")
    feltload("batch", folder, "--out", tmp_path / "x", "--processes", "0").one_line_error("--processes")


def test_files_are_the_same_whoever_reads_the_schema(dataset) -> None:
    """R's arrow and MATLAB open a folder by the schema of its first file: all files have the same."""
    for table in Table:
        schemas = [pq.read_schema(path) for path in sorted((dataset / table).glob("*.parquet"))]
        assert all(one.equals(schemas[0]) for one in schemas)
