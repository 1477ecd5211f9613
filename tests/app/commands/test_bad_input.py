"""Bad input: one line on standard error that names what, where and what to do; exit code 2; nothing lost."""

from __future__ import annotations

import os
import pty
import tty
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

LOAD = ("--load", "40 kg")


@pytest.fixture
def machine(recordings: Path) -> Path:
    return recordings / "lever-row.toml"


@pytest.fixture
def row(recordings: Path) -> Path:
    return recordings / "lever-row-40kg.mcap"


def logger_files(folder: Path, *, columns: int = 7, rows: int = 400) -> tuple[Path, Path]:
    """CSV files of an own logger, sound as they are."""
    time_s = np.arange(rows) * 0.01
    force = folder / "f.csv"
    np.savetxt(
        force,
        np.column_stack([time_s, 100.0 + np.sin(time_s)]),
        delimiter=",",
        header="time_s,force_n",
        comments="",
    )
    names = [
        "time_s",
        "gyro_x_rad_s",
        "gyro_y_rad_s",
        "gyro_z_rad_s",
        "accel_x_m_s2",
        "accel_y_m_s2",
        "accel_z_m_s2",
    ]
    values = np.column_stack([time_s, *[np.zeros(rows)] * 5, np.full(rows, 9.81)])
    imu = folder / "i.csv"
    np.savetxt(
        imu, values[:, :columns], delimiter=",", header=",".join(names[:columns]), comments="", fmt="%.5f"
    )
    return force, imu


@pytest.fixture
def silent_port() -> Iterator[str]:
    """A real terminal line on which nobody ever sends."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    yield os.ttyname(slave)
    os.close(master)
    os.close(slave)


def rig_file(folder: Path, port: str) -> Path:
    path = folder / "rig.toml"
    path.write_text(
        f"""name = "bench"
[[streams]]
description = "reference-force"
link = {{ type = "serial", port = "{port}" }}
set = {{ force = {{ unit = "N", scale = 0.01 }} }}
"""
    )
    return path


class TestUsage:
    @pytest.mark.parametrize(
        ("words", "named"),
        [
            (("nonsense",), "nonsense"),
            (("profile", "a.mcap", "--nonsense", "--out", "x"), "--nonsense"),
            (("profile", "a.mcap"), "--out"),
            (("export", "a.mcap", "--out", "x", "--format", "xls"), "xls"),
            (("devices", "--baud", "fast"), "fast"),
        ],
    )
    def test_a_wrong_command_line_is_one_line(self, feltload, words, named):
        line = feltload(*words).one_line_error(named)
        assert "--help" in line

    def test_debug_adds_the_traceback(self, feltload, tmp_path):
        ran = feltload("profile", tmp_path / "none.mcap", "--out", tmp_path / "out", "--debug")
        assert ran.code == 2
        assert "Traceback" in ran.err


class TestRecordings:
    def test_missing_file(self, feltload, tmp_path):
        feltload("profile", tmp_path / "none.mcap", "--out", tmp_path / "out").one_line_error("none.mcap")

    def test_not_a_recording(self, feltload, tmp_path):
        wrong = tmp_path / "notes.mcap"
        wrong.write_text("just words\n" * 50)
        feltload("profile", wrong, "--out", tmp_path / "out").one_line_error("notes.mcap", "recording")

    def test_cut_to_nothing(self, feltload, tmp_path, row):
        cut = tmp_path / "cut.mcap"
        cut.write_bytes(row.read_bytes()[:200])
        feltload("profile", cut, "--out", tmp_path / "out").one_line_error("cut.mcap")

    def test_cut_before_the_first_movement(self, feltload, tmp_path, row):
        cut = tmp_path / "cut.mcap"
        cut.write_bytes(row.read_bytes()[:20_000])
        feltload("profile", cut, "--out", tmp_path / "out").one_line_error(
            "cut: the inertial sensor hardly turned", "cut.mcap: it was cut or not closed"
        )

    def test_cut_in_the_middle_is_measured_and_reported(self, feltload, tmp_path, row):
        cut = tmp_path / "cut.mcap"
        whole = row.read_bytes()
        cut.write_bytes(whole[: int(0.7 * len(whole))])
        ran = feltload("profile", cut, "--out", tmp_path / "out")
        assert ran.code == 0, ran.err
        assert "cut" in (tmp_path / "out" / "report.html").read_text()
        assert len(cut.read_bytes()) == int(0.7 * len(whole))

    def test_an_earlier_result_stays(self, feltload, tmp_path, row):
        out = tmp_path / "out"
        out.mkdir()
        (out / "report.html").write_text("mine")
        feltload("profile", row, "--out", out).one_line_error("report.html", "--force-overwrite")
        assert (out / "report.html").read_text() == "mine"


class TestMachineFiles:
    @pytest.mark.parametrize(
        ("old", "new", "named"),
        [
            ("handle_radius = ", "handel_radius = ", "handel_radius"),
            (' mm"', ' kg"', "handle_radius"),
            ('mechanism = "lever"', 'mechanism = "pulley"', "pulley"),
            ("[lever]", "[lever", "TOML"),
        ],
    )
    def test_wrong_key_or_unit(self, feltload, tmp_path, row, machine, old, new, named):
        wrong = tmp_path / "machine.toml"
        text = machine.read_text()
        assert old in text
        wrong.write_text(text.replace(old, new, 1))
        line = feltload("profile", row, "--machine", wrong, "--out", tmp_path / "out").one_line_error(named)
        assert "machine.toml" in line

    def test_missing(self, feltload, tmp_path, row):
        wrong = tmp_path / "none.toml"
        feltload("profile", row, "--machine", wrong, "--out", tmp_path / "o").one_line_error("none.toml")

    def test_check_without_a_result(self, feltload, tmp_path, machine):
        feltload("check", tmp_path, "--machine", machine).one_line_error(str(tmp_path))


class TestCsv:
    def import_(self, feltload, folder, force, imu):
        out = folder / "r.mcap"
        return feltload("import", "--force", force, "--imu", imu, *LOAD, "--out", out)

    def test_missing_file(self, feltload, tmp_path):
        _, imu = logger_files(tmp_path)
        self.import_(feltload, tmp_path, tmp_path / "none.csv", imu).one_line_error("none.csv")

    def test_missing_column(self, feltload, tmp_path):
        force, imu = logger_files(tmp_path, columns=6)
        self.import_(feltload, tmp_path, force, imu).one_line_error("i.csv", "accel_z", "--columns")

    def test_not_a_number(self, feltload, tmp_path):
        force, imu = logger_files(tmp_path)
        lines = force.read_text().splitlines()
        lines[10] = lines[10].split(",")[0] + ",heavy"
        force.write_text("\n".join(lines))
        self.import_(feltload, tmp_path, force, imu).one_line_error("f.csv", "heavy", "force_n")

    def test_times_backwards(self, feltload, tmp_path):
        force, imu = logger_files(tmp_path)
        lines = force.read_text().splitlines()
        lines[10], lines[11] = lines[11], lines[10]
        force.write_text("\n".join(lines))
        line = self.import_(feltload, tmp_path, force, imu).one_line_error("f.csv", "time_s")
        assert "back" in line
        assert not (tmp_path / "r.mcap").exists()

    def test_wrong_unit_of_the_load(self, feltload, tmp_path):
        force, imu = logger_files(tmp_path)
        out = tmp_path / "r.mcap"
        feltload("import", "--force", force, "--imu", imu, "--load", "40 m", "--out", out).one_line_error(
            "--load"
        )

    def test_a_range_never_moved(self, feltload, tmp_path, machine):
        force, imu = logger_files(tmp_path, rows=1500)
        out = tmp_path / "r.mcap"
        done = feltload("import", "--force", force, "--imu", imu, "--machine", machine, *LOAD, "--out", out)
        assert done.code == 0, done.err
        line = feltload("profile", out, "--out", tmp_path / "out").one_line_error()
        assert "hardly turned" in line and "fixed to the moving arm" in line
        assert not (tmp_path / "out" / "profile.csv").exists()


class TestPorts:
    def record(self, feltload, folder, rig, machine, **more):
        out = folder / "r.mcap"
        words = ("record", rig, "--machine", machine, *LOAD, "--out", out, "--duration", "3 s")
        ran = feltload(*words, **more)
        assert not out.exists()
        # The cautions come before anything is opened; the error is the last line.
        *cautions, last = ran.err.strip().splitlines()
        assert all(line.startswith("! ") or "connecting" in line for line in cautions), ran.err
        assert ran.code == 2
        return last

    def test_no_such_port(self, feltload, tmp_path, machine):
        rig = rig_file(tmp_path, "/dev/ttyNOSUCH")
        assert "/dev/ttyNOSUCH" in self.record(feltload, tmp_path, rig, machine)

    def test_busy_port(self, feltload, tmp_path, machine, silent_port):
        import serial

        with serial.Serial(silent_port, exclusive=True):
            line = self.record(feltload, tmp_path, rig_file(tmp_path, silent_port), machine)
        assert silent_port in line
        assert "use" in line

    def test_a_sensor_that_never_sends(self, feltload, tmp_path, machine, silent_port):
        line = self.record(feltload, tmp_path, rig_file(tmp_path, silent_port), machine)
        assert silent_port in line
        assert "is open, but the sensor sent nothing" in line
        assert "check its power" in line

    def test_devices_on_a_missing_port(self, feltload):
        feltload("devices", "/dev/ttyNOSUCH").one_line_error("/dev/ttyNOSUCH", "no such")
