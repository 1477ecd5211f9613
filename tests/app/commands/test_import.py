"""A logger's files as a person gives them: one sensor alone, two files of one sensor, names not understood."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

BIAS = np.array([0.01, -0.02, 0.005])
OFFSET = np.array([0.1, -0.2, 0.3])
RATE = 100.0


def faces(folder):
    """A sensor of known offsets laid on its six faces, as a logger in deg/s and g would write it (invented)."""
    random = np.random.default_rng(5)
    gyro, accel = [], []
    for number, up in enumerate([*np.eye(3), *-np.eye(3)]):
        still = 9000 if number == 0 else 400
        gyro += [BIAS + random.normal(0, 0.002, (still, 3)), random.normal(0, 1.0, (100, 3))]
        accel += [9.80665 * up + OFFSET + random.normal(0, 0.02, (still, 3)), random.normal(0, 5.0, (100, 3))]
    gyro, accel = np.rad2deg(np.vstack(gyro)), np.vstack(accel) / 9.80665
    stamps = pd.date_range("2026-03-02 10:00:00", periods=len(gyro), freq="10ms").strftime("%H:%M:%S.%f")
    table = pd.DataFrame({"No": np.arange(len(gyro)), "Time": stamps, "State": "ok"})
    for kind, unit, values in (("Gyro", "deg/s", gyro), ("Accel", "g", accel)):
        for axis, column in zip("XYZ", values.T, strict=True):
            table[f"{kind} {axis} ({unit})"] = column.round(5)
    table.to_csv(folder / "poses.csv", index=False)
    return table


def test_an_inertial_sensor_alone_is_imported_calibrated_and_makes_no_profile(feltload, tmp_path):
    faces(tmp_path)
    out = tmp_path / "poses.mcap"
    ran = feltload("import", "--imu", tmp_path / "poses.csv", "--out", out)
    assert ran.code == 0, ran.err
    assert "inertial: 11600 samples, 100 Hz" in ran.out
    ran = feltload("calibrate", "inertial", out, "--serial", "I-1", "--out", tmp_path / "imu.json")
    assert ran.code == 0, ran.err
    got = json.loads((tmp_path / "imu.json").read_text())
    assert got["gyro_bias_rad_s"] == pytest.approx(BIAS, abs=3e-4)
    assert got["accel_offset_m_s2"] == pytest.approx(OFFSET, abs=5e-3)
    feltload("profile", out, "--out", tmp_path / "p").one_line_error(
        "poses.mcap", "no samples of a load cell", "force and motion", "--force and --imu"
    )
    assert not list((tmp_path / "p").glob("*"))


def test_counts_of_a_load_cell_alone_are_exported_as_counts(feltload, tmp_path):
    counts = 20_000 + np.arange(400)
    rows = [f"{n * 12.5:.1f};{count}" for n, count in enumerate(counts)]
    (tmp_path / "cell.csv").write_text("\n".join(["time_ms;force_counts", *rows, ""]).replace(".", ","))
    out = tmp_path / "cell.mcap"
    ran = feltload("import", "--force", tmp_path / "cell.csv", "--out", out)
    assert ran.code == 0, ran.err
    ran = feltload("export", out, "--out", tmp_path / "tables")
    assert ran.code == 0, ran.err
    table = pd.read_csv(tmp_path / "tables" / "force.csv")
    assert table["force_counts"].tolist() == counts.tolist()
    assert table["host_s"].tolist() == pytest.approx(np.arange(400) / 80)
    assert json.loads((tmp_path / "tables" / "recording.json").read_text())["load_kg"] is None


def test_gyro_and_accelerometer_in_two_files(feltload, tmp_path):
    table = faces(tmp_path).drop(columns="No")
    columns = list(table.columns)
    table[columns[:5]].to_csv(tmp_path / "g.csv", index=False)
    table[columns[:2] + columns[5:]].iloc[::2].to_csv(tmp_path / "a.csv", index=False)
    out = tmp_path / "poses.mcap"
    ran = feltload("import", "--imu", tmp_path / "g.csv", "--accel", tmp_path / "a.csv", "--out", out)
    assert ran.code == 0, ran.err
    # The last sample of the gyro comes after the last one of the accelerometer.
    assert "inertial: 11599 samples, 100 Hz" in ran.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--accel", "a.csv"), ("--accel", "one of the gyro", "--imu")),
        (("--force", "f.csv", "--imu", "f.csv"), ("--load", "40 kg")),
        ((), ("no file is given",)),
        (
            ("--force", "f.csv"),
            ("f.csv: no column time_s; it has t, F", "map it with --columns time_s=t,force_n=F"),
        ),
        (("--force", "f.csv", "--columns", "time_s=t,force=F"), ("the unit of column F is not stated",)),
    ],
)
def test_what_is_missing_gets_one_line(feltload, tmp_path, words, said):
    (tmp_path / "f.csv").write_text("t,F\n" + "".join(f"{n / 80},{n}\n" for n in range(80)))
    feltload("import", *words, "--out", "r.mcap", cwd=tmp_path).one_line_error(*said)
    assert not (tmp_path / "r.mcap").exists()
