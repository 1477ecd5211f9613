import numpy as np
import pandas as pd
import pytest

from feltload.acquisition import RecordingError, import_csv, parse_columns
from feltload.core import InputError
from full_disk import files_limited_to

RNG = np.random.default_rng(4)
FORCE_S = np.arange(800) / 80.0
RATE_S = np.arange(1000) / 100.0 + 0.3


def force_table(**changes):
    table = {"time_s": FORCE_S, "force_n": np.round(100 + 20 * np.sin(FORCE_S), 3)}
    return pd.DataFrame(table | changes)


def inertial_table(**changes):
    table = {"time_s": RATE_S}
    table |= {f"gyro_{axis}_rad_s": np.round(RNG.normal(0, 0.1, RATE_S.size), 5) for axis in "xyz"}
    table |= {f"accel_{axis}_m_s2": np.round(RNG.normal(0, 0.1, RATE_S.size), 4) for axis in "xyz"}
    table["accel_z_m_s2"] += 9.81
    return pd.DataFrame(table | changes)


def run(tmp_path, force, inertial, **options):
    force.to_csv(tmp_path / "f.csv", index=False)
    inertial.to_csv(tmp_path / "i.csv", index=False)
    return import_csv(tmp_path / "f.csv", tmp_path / "i.csv", tmp_path / "r.mcap", load_kg=40.0, **options)


def test_common_clock(tmp_path):
    force, inertial = force_table(), inertial_table()
    recording = run(tmp_path, force, inertial)
    read = recording.stream("force")
    assert read.attrs["clock"] == "common"
    assert read["force_n"].tolist() == pytest.approx(force["force_n"].tolist(), rel=1e-14)
    assert recording.stream("inertial")["host_s"].iloc[0] == pytest.approx(0.3)
    assert read["device_s"].tolist() == pytest.approx(FORCE_S.tolist())


def test_own_clocks_joined_by_arrival(tmp_path):
    """Own clocks start anywhere: one at boot, one in seconds since 1970."""
    epoch = 1.8e9
    recording = run(
        tmp_path,
        force_table(time_s=FORCE_S + 777.0, host_time_s=epoch + FORCE_S + 0.02),
        inertial_table(time_s=RATE_S + epoch - 3600, host_time_s=epoch + RATE_S + 0.01),
    )
    force, inertial = recording.stream("force"), recording.stream("inertial")
    assert force.attrs["clock"] == inertial.attrs["clock"] == "arrival"
    assert force["host_s"].iloc[0] == pytest.approx(0.0, abs=1e-6)
    assert inertial["host_s"].iloc[0] == pytest.approx(0.29, abs=1e-6)
    assert force["device_s"].iloc[0] == pytest.approx(777.0)


def test_dates_in_the_file_say_when_it_was_recorded(tmp_path):
    """A certificate is compared with that day, not with the day of the import."""
    dated = pd.to_datetime("2026-03-02T10:00:00.250Z") + pd.to_timedelta(RATE_S - 0.3, unit="s")
    written = {"time": dated.strftime("%Y-%m-%dT%H:%M:%S.%f")}
    table = inertial_table().drop(columns="time_s").assign(**written)
    table.to_csv(tmp_path / "i.csv", index=False)
    recording = import_csv(None, tmp_path / "i.csv", tmp_path / "r.mcap", load_kg=None)
    assert recording.info.started_utc == "2026-03-02T10:00:00.250+00:00"
    since_1970 = run(
        tmp_path, force_table(time_s=FORCE_S + 1.8e9), inertial_table(time_s=RATE_S + 1.8e9), overwrite=True
    )
    # 1.8e9 s after 1970, by `date -u -d @1800000000`.
    assert since_1970.info.started_utc == "2027-01-15T08:00:00.000+00:00"


@pytest.mark.parametrize("unit, newton", [("kgf", 9.80665), ("lbf", 4.4482216152605)])
def test_units_of_force(tmp_path, unit, newton):
    force = force_table()
    recording = run(tmp_path, force.rename(columns={"force_n": f"force_{unit}"}), inertial_table())
    assert recording.stream("force")["force_n"].iloc[5] == pytest.approx(force["force_n"].iloc[5] * newton)


def test_degrees_and_g_and_other_names_and_more_columns(tmp_path):
    inertial = inertial_table(label="invented", accel_z_m_s2=1.0)
    inertial = inertial.rename(columns=lambda name: name.replace("rad_s", "deg_s").replace("m_s2", "g"))
    recording = run(
        tmp_path,
        force_table().rename(columns={"time_s": "Zeit", "force_n": "Kraft"}),
        inertial,
        columns=parse_columns("time_s=Zeit, force_n=Kraft"),
    )
    read = recording.stream("inertial")
    assert read["gyro_x_rad_s"].iloc[3] == pytest.approx(np.deg2rad(inertial["gyro_x_deg_s"].iloc[3]))
    assert read["accel_z_m_s2"].iloc[3] == pytest.approx(9.80665 * inertial["accel_z_g"].iloc[3])
    assert len(recording.stream("force")) == 800


def test_semicolons_and_decimal_commas_as_stored(tmp_path):
    force_table().to_csv(tmp_path / "f.csv", index=False, sep=";", decimal=",")
    inertial_table().to_csv(tmp_path / "i.csv", index=False)
    recording = import_csv(tmp_path / "f.csv", tmp_path / "i.csv", tmp_path / "r.mcap", load_kg=1.0)
    assert recording.stream("force")["force_n"].iloc[80] == pytest.approx(116.829)
    assert recording.info.files["force-f.csv"] == (tmp_path / "f.csv").read_bytes()


def changed(table, row, column, value):
    table = table.astype(object)
    table.loc[row, column] = value
    return table


@pytest.mark.parametrize(
    "force, inertial, said",
    [
        (force_table().drop(columns="time_s"), None, r"f\.csv: no column time_s; it has force_n; map it"),
        (force_table().drop(columns="force_n"), None, r"no column force_n \(or force_kgf"),
        (force_table(force_kgf=1.0), None, r"mixed units: force_n and force_kgf"),
        (changed(force_table(), 5, "force_n", "n/a"), None, r'line 7, column force_n: "n/a" is not a number'),
        (changed(force_table(), 5, "force_n", None), None, r"line 7, column force_n: is empty"),
        (changed(force_table(), 9, "time_s", 0.01), None, r"line 11, column time_s: time runs backwards"),
        (force_table().iloc[:0], None, r"f\.csv: has no rows"),
        (force_table(time_s=FORCE_S + 500), None, r"do not overlap in time: f\.csv 500\.000 to"),
        (None, inertial_table().drop(columns="gyro_y_rad_s"), r"i\.csv: no column gyro_y_rad_s"),
        (None, inertial_table(accel_x_g=1.0), r"mixed units: accel in m/s2 and g"),
        (force_table(time_s=1e3 * FORCE_S), inertial_table(time_s=1e3 * RATE_S), r"rows are 12\.5 s apart"),
        (
            None,
            inertial_table(accel_z_m_s2=0.0),
            r"reads 0\.\d+ m/s2 in the middle: gravity seems to have been taken out",
        ),
        (None, inertial_table(accel_z_m_s2=1.0), r"accelerometer reads .* name the columns accel_x_g"),
        (None, inertial_table(gyro_z_rad_s=120.0), r"reads 120 rad/s.* name the columns gyro_x_deg_s"),
    ],
)
def test_bad_files_get_one_line(tmp_path, force, inertial, said):
    with pytest.raises(InputError, match=said) as caught:
        run(
            tmp_path,
            force_table() if force is None else force,
            inertial_table() if inertial is None else inertial,
        )
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "r.mcap").exists()


def test_missing_file_and_ragged_rows(tmp_path):
    inertial_table().to_csv(tmp_path / "i.csv", index=False)
    with pytest.raises(InputError, match=r"f\.csv: no such file"):
        import_csv(tmp_path / "f.csv", tmp_path / "i.csv", tmp_path / "r.mcap", load_kg=1.0)
    (tmp_path / "f.csv").write_text("time_s,force_n\n0,1\n1,2,3\n")
    with pytest.raises(InputError, match="as many columns as the header"):
        import_csv(tmp_path / "f.csv", tmp_path / "i.csv", tmp_path / "r.mcap", load_kg=1.0)


@pytest.mark.needs("fork")
def test_a_full_disk_leaves_no_recording(tmp_path):
    force_table().to_csv(tmp_path / "f.csv", index=False)
    inertial_table().to_csv(tmp_path / "i.csv", index=False)
    out = tmp_path / "r.mcap"
    out.write_bytes(b"precious")
    with (
        files_limited_to(5_000),
        pytest.raises(RecordingError, match=r"r\.mcap: the recording cannot be written .*; make room"),
    ):
        import_csv(tmp_path / "f.csv", tmp_path / "i.csv", out, load_kg=40.0, overwrite=True)
    assert out.read_bytes() == b"precious"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["f.csv", "i.csv", "r.mcap"]
