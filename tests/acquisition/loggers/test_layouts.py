"""A table written in any layout of real loggers comes back as the same arrays; the layouts are written here."""

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from feltload.acquisition import parse_columns
from feltload.acquisition.loggers.table import read_csv_table
from feltload.core import InputError

AXES = [f"{kind}_{axis}" for kind in ("gyro", "accel") for axis in "xyz"]
# NIST SP 811 (2008), table B.8: standard gravity and the pound-force are exact; a degree is pi/180 rad.
SI = {"N": 1.0, "kN": 1e3, "kgf": 9.80665, "lbf": 4.4482216152605, "counts": 1.0}
SI |= {"rad/s": 1.0, "deg/s": np.pi / 180, "m/s2": 1.0, "g": 9.80665}
PER_SECOND = {"s": 1, "ms": 1_000, "us": 1_000_000}
NOON = dt.datetime(2026, 3, 2, 23, 59, 58)


@dataclass(frozen=True)
class Layout:
    """How the table is written."""

    delimiter: str
    decimal: str
    thousands: str
    quoted: bool
    encoding: str
    end: str
    clock: str
    units: str
    unused: tuple[int, ...]
    header: str
    preamble: bool
    trailing: bool
    header_again: bool
    ending: str


def layouts():
    return st.builds(
        Layout,
        delimiter=st.sampled_from(",;\t"),
        decimal=st.sampled_from(".,"),
        thousands=st.sampled_from(["", "", " ", "'", "mark"]),
        quoted=st.booleans(),
        encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
        end=st.sampled_from(["\n", "\r\n"]),
        clock=st.sampled_from(["s", "ms", "us", "epoch s", "epoch ms", "iso", "iso T zone", "day", "d.m.y"]),
        units=st.sampled_from(["name", "brackets", "parentheses", "row"]),
        unused=st.lists(st.integers(0, 7), max_size=4).map(tuple),
        header=st.sampled_from(["one", "two", "none"]),
        preamble=st.booleans(),
        trailing=st.booleans(),
        header_again=st.booleans(),
        ending=st.sampled_from(["whole", "no line end", "cut"]),
    )


def as_number(value, layout, decimals):
    text = f"{abs(value):,.{decimals}f}".replace(",", "T").replace(".", "D")
    mark = {"mark": "," if layout.decimal == "." else "."}.get(layout.thousands, layout.thousands)
    # Marks between thousands of a counter are another matter: they would be of a table for people.
    text = text.replace("T", mark).replace("D", layout.decimal)
    return ("-" if value < 0 else "") + text


def times(t_s, layout):
    """Cells of the times, the name's unit, and the times that are to come back, from the first one on."""
    kind = layout.clock
    if kind in PER_SECOND:
        counted = t_s * PER_SECOND[kind]
        return [f"{x:.{6 if kind == 's' else 3}f}".replace(".", layout.decimal) for x in counted], kind
    if kind == "epoch s":
        return [
            f"{1_772_000_000 + int(x)}.{round(x % 1 * 1e6):06d}".replace(".", layout.decimal) for x in t_s
        ], "s"
    if kind == "epoch ms":
        return [f"{1_772_000_000_000 + round(x * 1e3)}" for x in t_s], "ms"
    stamps = [NOON + dt.timedelta(microseconds=round(x * 1e6)) for x in t_s]
    form = {
        "iso": "%Y-%m-%d %H:%M:%S.%f",
        "iso T zone": "%Y-%m-%dT%H:%M:%S.%f+01:00",
        "day": "%H:%M:%S.%f",
        "d.m.y": "%d.%m.%Y %H:%M:%S.%f",
    }[kind]
    return [stamp.strftime(form) for stamp in stamps], ""


def written(layout, part, t_s, values, unit_of):
    """Bytes of the file, and the option that it needs."""
    fields = [*values]
    stamp, time_unit = times(t_s, layout)
    width = len(fields) + 1
    suffix = {"m/s2": "m_s2", "rad/s": "rad_s", "deg/s": "deg_s"}
    names, units = [], []
    for field, unit in [("time", time_unit), *((field, unit_of[field]) for field in fields)]:
        style = layout.units if unit else "none"
        units.append(unit)
        names.append(
            {
                "name": f"{field}_{suffix.get(unit, unit.lower())}",
                "brackets": f"{field.title().replace('_', ' ')} [{unit}]",
                "parentheses": f"{field} ({unit})",
                "row": field,
                "none": field,
            }[style]
        )
    columns = [stamp, *([as_number(x, layout, 3) for x in values[field]] for field in fields)]
    order = list(range(width))
    for at in layout.unused:
        order.insert(at % (len(order) + 1), -1)
    mark = layout.delimiter
    quote = layout.quoted or (mark == "," and (layout.decimal == "," or layout.thousands == "mark"))

    def cells(row, spare):
        texts = [row[k] if k >= 0 else spare for k in order]
        line = mark.join(f'"{text}"' if quote else text for text in texts)
        return line + (mark if layout.trailing else "")

    lines = ["Logger 3 (invented)", "# comment", ""] if layout.preamble and layout.header != "none" else []
    head = []
    if layout.header == "two" and part == "inertial" and layout.units != "name":
        upper = ["", "Gyroscope", "", "", "Accelerometer", "", ""]
        lower = [names[0]] + [name.replace("_", " ").split(" ", 1)[1] for name in names[1:]]
        if -1 not in order:
            head = [mark.join(upper), mark.join(lower)]
    if not head and layout.header != "none":
        head = [cells(names, "Größe")]
    if layout.units == "row" and head and any(units):
        head.append(cells(units, "V"))
    rows = [cells(row, "x1" if layout.quoted else "7") for row in zip(*columns, strict=True)]
    half = len(rows) // 2
    again = head if layout.header_again else []
    text = layout.end.join([*lines, *head, *rows[:half], *again, *rows[half:], ""])
    if layout.ending == "no line end":
        text = text[: -len(layout.end)]
    if layout.ending == "cut":
        text += ('"' if quote else "") + (stamp[-1][:3] if order[0] == 0 else "7")
    option = ""
    if not head:
        ours = [f"time_{time_unit}" if time_unit else "time"]
        ours += [f"{field}_{suffix.get(unit_of[field], unit_of[field].lower())}" for field in fields]
        option = ",".join(f"{name}={order.index(k) + 1}" for k, name in enumerate(ours))
    return text.encode(layout.encoding), option


@st.composite
def tables(draw):
    """Values with three decimals, so that every layout can write them exactly."""
    rows = draw(st.integers(8, 40))
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    steps = random.integers(4, 400, rows)
    t_s = np.cumsum(steps) / 1000.0
    part = draw(st.sampled_from(["force", "inertial"]))
    if part == "force":
        unit = draw(st.sampled_from(["N", "kN", "kgf", "lbf", "counts"]))
        # The first value has both marks between thousands and before decimals.
        values = {"force": np.concatenate([[1234.5], np.round(random.normal(2000, 900, rows - 1), 3)])}
        return part, t_s, values, {"force": unit}
    gyro, accel = draw(st.sampled_from(["rad/s", "deg/s"])), draw(st.sampled_from(["m/s2", "g"]))
    values = {axis: np.round(random.normal(0, 2.5, rows), 3) for axis in AXES}
    values["accel_z"] += 20.0
    values["gyro_x"][0] = 1234.5 if gyro == "deg/s" else 12.5
    return part, t_s, values, {axis: gyro if axis.startswith("gyro") else accel for axis in AXES}


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(table=tables(), layout=layouts())
def test_any_layout_comes_back_as_the_same_arrays(tmp_path, table, layout):
    part, t_s, values, unit_of = table
    if layout.thousands == "mark" and not any(abs(column[0]) >= 1000 for column in values.values()):
        layout = Layout(**{**layout.__dict__, "thousands": ""})
    data, option = written(layout, part, t_s, values, unit_of)
    path = tmp_path / "logger.csv"
    path.write_bytes(data)
    read = read_csv_table(path, part, columns=parse_columns(option))
    assert read.data == data
    assert read.cut_rows == (layout.ending == "cut")
    elapsed = read.time.time_s - read.time.time_s[0]
    assert elapsed == pytest.approx(t_s - t_s[0], rel=1e-12, abs=1e-12)
    for field, expected in values.items():
        unit = unit_of[field]
        assert read.units[field] == (
            "counts" if unit == "counts" else {"f": "N", "g": "rad/s", "a": "m/s2"}[field[0]]
        )
        assert read.values[field] == pytest.approx(expected * SI[unit], rel=1e-12, abs=1e-12)


def test_a_column_of_texts_before_the_last_used_one(tmp_path):
    """The fault that most loggers' files met: a column that is not used, left of the last one that is."""
    path = tmp_path / "f.csv"
    path.write_text(
        "note,time_s,flag,force_n,volt\n" + "".join(f"ok,{n / 80},1,{n},3.3\n" for n in range(500))
    )
    table = read_csv_table(path, "force")
    assert table.values["force"].tolist() == list(range(500))


FORCE = "".join(f"{n / 80:.4f},{100 + n % 7}.5\n" for n in range(80))
MOTION = "".join(f"{n},{n * 10},0.01,0.02,9.81,1,2,3\n" for n in range(80))


@pytest.mark.parametrize(
    ("part", "text", "proposed"),
    [
        ("force", "Zeit,Kraft\n" + FORCE, "time_s=Zeit,force_n=Kraft"),
        ("force", "Elapsed,Load (kgf)\n" + FORCE, "'time_s=Elapsed,force_kgf=Load (kgf)'"),
        ("force", FORCE, "time_s=1,force_n=2"),
        (
            "inertial",
            "n,Timestamp,AX,AY,AZ,GX,GY,GZ\n" + MOTION,
            "time_ms=Timestamp,gyro_x_rad_s=GX,gyro_y_rad_s=GY,gyro_z_rad_s=GZ,"
            "accel_x_m_s2=AX,accel_y_m_s2=AY,accel_z_m_s2=AZ",
        ),
        (
            "inertial",
            f"n,timestamp_ms,{','.join(f'accel_{axis}_gs' for axis in 'xyz')},"
            f"{','.join(f'raw_rotation_{axis}_deg_per_s' for axis in 'xyz')}\n{MOTION.replace('9.81', '1.0')}",
            "gyro_x_deg_s=raw_rotation_x_deg_per_s,gyro_y_deg_s=raw_rotation_y_deg_per_s,"
            "gyro_z_deg_s=raw_rotation_z_deg_per_s",
        ),
        (
            "inertial",
            f"n,timestamp_ms,{','.join(f'raw_accel_{axis}_gs' for axis in 'xyz')},"
            f"{','.join(f'angular_rate_{axis}_deg_per_s' for axis in 'xyz')}\n{MOTION.replace('9.81', '1.0')}",
            "accel_x_g=raw_accel_x_gs,accel_y_g=raw_accel_y_gs,accel_z_g=raw_accel_z_gs",
        ),
        (
            "inertial",
            MOTION,
            "time_ms=2,gyro_x_rad_s=6,gyro_y_rad_s=7,gyro_z_rad_s=8,"
            "accel_x_m_s2=3,accel_y_m_s2=4,accel_z_m_s2=5",
        ),
    ],
)
def test_columns_are_proposed_in_full_and_the_proposal_works(tmp_path, part, text, proposed):
    path = tmp_path / "logger.csv"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_csv_table(path, part)
    said = str(caught.value)
    assert said.endswith(f"--columns {proposed}") and "\n" not in said
    assert read_csv_table(path, part, columns=parse_columns(proposed.strip("'"))).time.time_s.size == 80


def test_acceleration_without_gravity_is_not_proposed(tmp_path):
    path = tmp_path / "logger.csv"
    names = [f"Linear Acceleration {axis} (m/s^2)" for axis in "xyz"] + [
        f"Gyroscope {axis} (rad/s)" for axis in "xyz"
    ]
    path.write_text(
        "Time (s)," + ",".join(names) + "\n" + "".join(f"{n / 99},0,0,0,1,2,3\n" for n in range(80))
    )
    with pytest.raises(InputError, match=r"no column accel_x_m_s2; .*accel_x_m_s2=COLUMN.* --accel$"):
        read_csv_table(path, "inertial")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "time_s,force_n\n0,1e300\n1,2\n",
            r"line 2, column force_n: reads 1e\+300 N, more than any sensor does",
        ),
        ("time_s,force_n\n0,1e999\n1,2\n", r"line 2, column force_n: .* larger than any number"),
        (
            "time_s,force_n\n0," + "1" * 1_000_000 + "\n1,2\n",
            "line 2, column force_n: has 1000000 characters",
        ),
        (
            "time_s,force_n\n" + "0,NaN\n" * 500,
            r'line 2, column force_n: "NaN" is not a number, as in 499 more',
        ),
        (
            "time_s," + "x," * 200_000 + "Kraft\n" + "0," + "1," * 200_000 + "5\n",
            r"no column force_n .* and 199990 more",
        ),
        (
            "time_s,force\n" + FORCE,
            r"the unit of column force is not stated; state it \(N or kN .* --columns force_n=force",
        ),
        (
            "time,force_n\n" + FORCE,
            r"column time: the unit of the times is not stated; state it with --columns",
        ),
        ("time,force_n\n" + "10:00:00,5\n" * 50, "50 rows have only 1 different times"),
        ("time,force_n\n10:00:00.1,5\n10:00:00,x\n", r"line 3, column force_n: \"x\" is not a number"),
        (
            "time,force_n\n10:00:00.1,5\n99:00:00,6\n",
            r'line 3, column time: "99:00:00" is no time written as in',
        ),
        ("time_s,force_n [kgf]\n" + FORCE, "no column force_n"),
        ("time_ms,force\ns,N\n" + FORCE, "line 2, column time_ms: is in s, where ms is expected"),
    ],
)
def test_absurd_files_get_one_line(tmp_path, text, said):
    path = tmp_path / "f.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=said) as caught:
        read_csv_table(path, "force")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 1000


def test_forty_thousand_columns(tmp_path):
    path = tmp_path / "f.csv"
    spare = 20_000
    head = ",".join(["a"] * spare + ["time_s"] + ["b"] * spare + ["force_n"])
    rows = [",".join(["1.5"] * spare + [f"{n / 80}"] + ["x"] * spare + [f"{n}"]) for n in range(8)]
    path.write_text("\n".join([head, *rows, ""]))
    assert read_csv_table(path, "force").values["force"].tolist() == list(range(8))


@pytest.mark.parametrize("text", ["time_s=1,foo=2", "time_s", "=x", "gyro_q_rad_s=1", "force_deg_s=2"])
def test_columns_that_mean_nothing_are_refused(text):
    with pytest.raises(InputError, match=r"^--columns: "):
        parse_columns(text)
