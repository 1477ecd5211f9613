"""``feltload export``: one table on one clock beside the streams, for both formats, and motion with its events."""

from __future__ import annotations

import json
import re
from pathlib import Path

import c3d
import ezc3d
import numpy as np
import pandas as pd
import pytest

ROOT = Path(__file__).parents[3]
ROW = ROOT / "recordings" / "lever-row-40kg.mcap"
COLUMNS = [
    "time_s", "force_n", "angle_rad", "angle_deg", "angle_u_rad", "rate_rad_s", "accel_rad_s2", "phase", "repetition",
    "travel_percent", "handle_travel_mm",
]  # fmt: skip


@pytest.fixture(scope="module")
def exported(feltload, tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("export")
    ran = feltload("export", ROW, "--out", folder / "csv")
    assert ran.code == 0, ran.err
    assert str(folder / "csv" / "joined.csv") in ran.out
    return folder


def test_one_table_on_one_clock_beside_the_streams(exported):
    names = {path.name for path in (exported / "csv").iterdir()}
    assert names == {"joined.csv", "force.csv", "inertial.csv", "marks.csv", "recording.json"}
    table = pd.read_csv(exported / "csv" / "joined.csv")
    assert list(table.columns) == COLUMNS
    assert np.diff(table["time_s"]) == pytest.approx(0.01)
    # The recording is of the emulated lever row: -32 degrees on the start stop, five repetitions.
    assert table["angle_deg"].min() == pytest.approx(-32.2, abs=0.3)
    assert table["repetition"].dropna().unique().tolist() == [1, 2, 3, 4, 5]
    assert set(table["phase"].dropna()) == {"concentric", "hold", "eccentric", "between"}


def test_formats_list_the_columns_of_the_joined_table_in_order():
    text = (ROOT / "docs" / "formats.md").read_text(encoding="utf-8")
    start = text.index("## The joined table")
    listed = re.findall(r"^\| `(\w+)` \|", text[start : text.index("\nWhere a sensor", start)], re.MULTILINE)
    assert listed == COLUMNS


def test_what_is_known_of_the_session_goes_with_it(exported):
    said = json.loads((exported / "csv" / "recording.json").read_text())
    assert said["joined"]["joined.csv"]["rate_hz"] == 100.0
    assert said["joined"]["joined.csv"]["lag_u_s"] < 0.005
    assert said["machine"]["values"]["mechanism"] == "lever"
    assert said["clocks"]["force"]["host_s"] == "arrival"
    assert said["software"]["name"] == "feltload"
    assert {"rig", "certificates", "samples_sha256", "health"} <= set(said)


def test_motion_with_events_for_other_laboratories(feltload, exported):
    ran = feltload("export", ROW, "--out", exported / "c3d", "--format", "c3d", "--rate", "50")
    assert ran.code == 0, ran.err
    back = ezc3d.c3d(str(exported / "c3d" / "lever-row-40kg.c3d"))
    assert back["parameters"]["ANALOG"]["LABELS"]["value"] == ["force", "angle", "rate", "acceleration"]
    assert back["parameters"]["ANALOG"]["RATE"]["value"][0] == 50.0
    labels = back["parameters"]["EVENT"]["LABELS"]["value"]
    assert labels.count("concentric start") == labels.count("concentric end") == 5
    assert "tare" in labels
    assert back["parameters"]["FELTLOAD"]["LOAD_KG"]["value"][0] == pytest.approx(40.0)
    assert back["parameters"]["FELTLOAD"]["INVENTED"]["value"] == ["yes"]
    angle = back["data"]["analogs"][0][1]
    assert np.nanmin(angle) == pytest.approx(-32.2, abs=0.3)


@pytest.mark.filterwarnings("ignore:No point data")
def test_turning_points_and_units_in_a_reader_of_its_own(feltload, exported):
    """The package c3d, which shares no code with the writer, against the joined table of the same recording."""
    ran = feltload("export", ROW, "--out", exported / "other", "--format", "c3d")
    assert ran.code == 0, ran.err
    table = pd.read_csv(exported / "csv" / "joined.csv")
    with (exported / "other" / "lever-row-40kg.c3d").open("rb") as stream:
        back = c3d.Reader(stream)
        force, angle, *_ = np.concatenate([each for _, _, each in back.read_frames(copy=True)], axis=1)
        labels, units = (
            [text.strip() for text in back.get(name).string_array]
            for name in ("EVENT:LABELS", "ANALOG:UNITS")
        )
        minutes_s = back.get("EVENT:TIMES").float_array.reshape(-1, 2) @ [60.0, 1.0]
    assert units == ["N", "deg", "rad/s", "rad/s2"]
    assert np.allclose(force, table["force_n"], rtol=1e-6, equal_nan=True)
    assert np.allclose(angle, table["angle_deg"], rtol=1e-6, equal_nan=True)
    turns = minutes_s[[label == "concentric end" for label in labels]]
    tops = table[table["phase"] == "concentric"].groupby("repetition")["time_s"].max()
    assert turns == pytest.approx(tops.to_numpy() - table["time_s"].iloc[0], abs=0.35)
    assert np.all(np.diff(minutes_s) >= 0.0)


def test_a_table_that_is_there_is_left_alone(feltload, tmp_path):
    (tmp_path / "joined.parquet").write_bytes(b"precious")
    ran = feltload("export", ROW, "--out", tmp_path, "--format", "parquet")
    ran.one_line_error("joined.parquet", "already exists")
    assert [path.name for path in tmp_path.iterdir()] == ["joined.parquet"]
    assert (tmp_path / "joined.parquet").read_bytes() == b"precious"


def test_a_rate_out_of_reach_is_one_line(feltload, tmp_path):
    feltload("export", ROW, "--out", tmp_path / "x", "--rate", "1e7").one_line_error(
        "rows per second", "10 to 2000"
    )
    assert not (tmp_path / "x").exists() or not list((tmp_path / "x").iterdir())


def test_the_example_in_the_documents_runs(monkeypatch, capsys):
    examples = {
        block
        for document in ("README.md", "docs/quick-start.md")
        for block in re.findall(
            r"```python\n(.*?)```", (ROOT / document).read_text(encoding="utf-8"), re.DOTALL
        )
        if "joined_table" in block
    }
    (example,) = examples
    monkeypatch.chdir(ROOT)
    exec(compile(example, "README.md", "exec"), {})
    peaks = re.findall(r"^(\d)\s+([\d.]+)$", capsys.readouterr().out, re.MULTILINE)
    assert [int(number) for number, _ in peaks] == [1, 2, 3, 4, 5]
    assert all(200.0 < float(peak) < 400.0 for _, peak in peaks)
