"""Clocks of several files on one line, against times and motion that are known."""

import numpy as np
import pytest

from feltload.acquisition import import_csv
from feltload.core import InputError

GYRO_S = np.arange(4000) / 400.0
ACCEL_S = np.arange(1000) / 100.0 + 0.0013


def gyro_file(path, t_s=GYRO_S):
    lines = [f"{1e3 * t:.4f},{t:.6f},{2 * t:.6f},{-t:.6f}" for t in t_s]
    path.write_text("\n".join(["time_ms,gyro_x_rad_s,gyro_y_rad_s,gyro_z_rad_s", *lines, ""]))
    return path


def accel_file(path, t_s=ACCEL_S):
    lines = [f"{1e6 * t:.1f};9.81;{0.1 * t:.6f};{3 - 0.2 * t:.6f}" for t in t_s]
    path.write_text("\n".join(["time_us;accel_x_m_s2;accel_y_m_s2;accel_z_m_s2", *lines, ""]))
    return path


def test_two_rates_in_two_units_of_time(tmp_path):
    """Straight lines are drawn exactly, so that any error would be one of the times."""
    recording = import_csv(
        None, gyro_file(tmp_path / "g.csv"), tmp_path / "r.mcap", accel=accel_file(tmp_path / "a.csv")
    )
    frame = recording.stream("inertial")
    t_s = GYRO_S[(ACCEL_S[0] <= GYRO_S) & (ACCEL_S[-1] >= GYRO_S)]
    assert frame["device_s"].to_numpy() == pytest.approx(t_s, abs=1e-12)
    assert frame["gyro_y_rad_s"].to_numpy() == pytest.approx(2 * t_s, abs=1e-12)
    assert frame["accel_y_m_s2"].to_numpy() == pytest.approx(0.1 * t_s, abs=2e-6)
    assert frame["accel_z_m_s2"].to_numpy() == pytest.approx(3 - 0.2 * t_s, abs=2e-6)
    assert recording.info.load_kg is None
    assert set(recording.info.files) == {"inertial-g.csv", "accel-a.csv"}
    with pytest.raises(InputError, match=r"states no load: it was made of a sensor alone; .* --load"):
        _ = recording.load_kg


def test_no_acceleration_is_made_up_where_its_file_is_silent(tmp_path):
    silent = (ACCEL_S < 4) | (ACCEL_S > 6)
    recording = import_csv(
        None,
        gyro_file(tmp_path / "g.csv"),
        tmp_path / "r.mcap",
        accel=accel_file(tmp_path / "a.csv", ACCEL_S[silent]),
    )
    time_s = recording.stream("inertial")["device_s"].to_numpy()
    assert not np.any((time_s > 4.0) & (time_s < 6.0))
    health = recording.health["inertial"]
    assert health.gaps == 1 and health.longest_gap_s == pytest.approx(2.0, abs=0.02)


def test_files_that_share_no_time(tmp_path):
    with pytest.raises(
        InputError, match=r"do not overlap in time: g\.csv 0\.000 to 9\.998 s, a\.csv 100\.001 to"
    ):
        import_csv(
            None,
            gyro_file(tmp_path / "g.csv"),
            tmp_path / "r.mcap",
            accel=accel_file(tmp_path / "a.csv", ACCEL_S + 100),
        )


def test_force_dated_and_motion_counted_since_1970_meet(tmp_path):
    """2026-03-02T10:00:00Z is 1772445600 s after 1970 (date -u -d @1772445600)."""
    t_s = np.arange(400) / 100
    force = [f"2026-03-02T11:00:{t + 1:09.6f}+01:00,{t:.3f}" for t in t_s]
    (tmp_path / "f.csv").write_text("\n".join(["time,force_n", *force, ""]))
    motion = [f"{1_772_445_600_000 + round(1e3 * t)},0,0,0,0,0,9.81" for t in t_s]
    names = [f"gyro_{axis}_rad_s" for axis in "xyz"] + [f"accel_{axis}_m_s2" for axis in "xyz"]
    (tmp_path / "i.csv").write_text("\n".join([",".join(["time", *names]), *motion, ""]))
    recording = import_csv(tmp_path / "f.csv", tmp_path / "i.csv", tmp_path / "r.mcap", load_kg=40.0)
    assert recording.stream("inertial")["host_s"].to_numpy() == pytest.approx(t_s, abs=1e-9)
    assert recording.stream("force")["host_s"].to_numpy() == pytest.approx(t_s + 1, abs=1e-9)


def test_midnight_between_two_files(tmp_path):
    t_s = np.arange(400) / 100

    def clock(second):
        whole = int(second) % 86_400
        return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}.{round(second % 1 * 1000) % 1000:03d}"

    force = [f"{clock(86_399 + t)},{t:.3f}" for t in t_s]
    (tmp_path / "f.csv").write_text("\n".join(["time,force_n", *force, ""]))
    motion = [f"{clock(86_401 + t)},0,0,0,0,0,9.81" for t in t_s]
    names = [f"gyro_{axis}_rad_s" for axis in "xyz"] + [f"accel_{axis}_m_s2" for axis in "xyz"]
    (tmp_path / "i.csv").write_text("\n".join([",".join(["time", *names]), *motion, ""]))
    recording = import_csv(tmp_path / "f.csv", tmp_path / "i.csv", tmp_path / "r.mcap", load_kg=40.0)
    assert recording.stream("force")["host_s"].to_numpy() == pytest.approx(t_s, abs=1e-9)
    assert recording.stream("inertial")["host_s"].to_numpy() == pytest.approx(t_s + 2, abs=1e-9)
