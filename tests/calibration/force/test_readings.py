"""Readings files as people write them: what is read, what is counted, and what is refused in one line."""

import numpy as np
import pytest

from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.readings import parse_head, parse_readings, read_readings, readings_text

COLUMNS = "series,direction,position_deg,mass,reading,time_s,temperature_c\n"


def test_a_file_that_is_not_there_or_not_text_is_said_so(tmp_path):
    with pytest.raises(ReadingsError, match=r"none\.csv: no such file; check the path"):
        readings_text(tmp_path / "none.csv")
    (tmp_path / "image.csv").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(ReadingsError, match=r"image\.csv: is not UTF-8 text"):
        read_readings(tmp_path / "image.csv")


def test_a_mark_at_the_beginning_of_the_file_is_no_part_of_it(tmp_path):
    # What spreadsheets write before UTF-8 text.
    (tmp_path / "cell.csv").write_bytes(
        b"\xef\xbb\xbf# serial: T-1\nseries,direction,mass,reading\n1,rising,0,7\n"
    )
    readings = read_readings(tmp_path / "cell.csv")
    assert (readings.setup.serial, readings.where, len(readings)) == ("T-1", "cell.csv", 1)


def test_spaces_quotes_blank_lines_and_remarks_change_nothing():
    text = (
        "# Serial : T-1\n\n# only a remark\n#note: by hand, on a hook: steady\n # rated   capacity: 2 kN\n"
        "Series, Direction , mass, reading\n\n"
        '1, Rising, "10 kg", 51970\n , ,,\n2, falling , 5 kg, "31000"\n'
    )
    readings = parse_readings(text)
    assert readings.load.tolist() == [10.0, 5.0]
    assert readings.reading.tolist() == [51970.0, 31000.0]
    assert readings.direction.tolist() == ["rising", "falling"]
    assert readings.series.tolist() == ["1", "2"]
    assert readings.row.tolist() == [8, 10]
    assert readings.setup.serial == "T-1"
    assert readings.setup.note == "by hand, on a hook: steady"
    assert readings.setup.rated_capacity_n == 2000.0
    assert parse_head(text) == (readings.setup, 2)


@pytest.mark.parametrize(("rows", "count"), [("", 0), (COLUMNS, 0), (COLUMNS + "1,rising,0,0,1,,\n", 1)])
def test_rows_that_follow_a_head_are_counted(rows, count):
    setup, found = parse_head("# serial: T-1\n" + rows)
    assert (setup.serial, found) == ("T-1", count)


def test_what_is_left_empty_is_not_known():
    readings = parse_readings(COLUMNS + "1,rising,,0,1,,\n1,hold,120,10(0.5) kg,2,30.5,21.5\n")
    for got, known in (
        (readings.position_deg, 120.0),
        (readings.load_u, 0.5),
        (readings.time_s, 30.5),
        (readings.temperature_c, 21.5),
    ):
        assert np.isnan(got[0]) and got[1] == known
    plain = parse_readings("series,direction,mass_kg,reading\n1,rising,0,1\n")
    assert np.isnan([plain.position_deg[0], plain.time_s[0], plain.temperature_c[0], plain.load_u[0]]).all()


@pytest.mark.parametrize(
    ("row", "complaint"),
    [
        ("", "no readings under the column names"),
        ("1,rising,0,0,1,,,\n", "row 2: 8 cells under 7 column names"),
        ("1,rising,x,0,1,,\n", 'row 2, position_deg: "x" is not a number'),
        ("1,rising,0,0,inf,,\n", 'row 2, reading: "inf" is not a number'),
        ("1,rising,0,5 kg,1,,\n1,rising,0,-5 kg,1,,\n", "row 3: a load below zero"),
        ("1,rising,0,5 kg,1 mV/V,,\n1,rising,0,5 kg,1,,\n", "row 3: units mixed: some readings in mV/V"),
        (
            "1,rising,0,0,1,,\n1,rising,0,5 kg,1,,\n1,rising,0,5 lb,1,,\n1,rising,0,5 g,1,,\n",
            "units mixed: row 3 in kg, row 4 in lb",
        ),
    ],
)
def test_a_row_that_cannot_be_read_is_named(row, complaint):
    with pytest.raises(ReadingsError) as caught:
        parse_readings(COLUMNS + row, where="cell.csv")
    assert str(caught.value).startswith("cell.csv")
    assert complaint in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("columns", "complaint"),
    [
        ("series,direction,mass,reading,reading", "a duplicate column"),
        ("series,direction,mass,force,reading", "units mixed: columns mass and force"),
        ("series,mass,reading", "no column direction;"),
        ("direction,reading", "no column series, mass;"),
    ],
)
def test_columns_that_do_not_fit_are_named(columns, complaint):
    with pytest.raises(ReadingsError) as caught:
        parse_readings(f"{columns}\n1,rising,0,1,1\n")
    assert complaint in str(caught.value)


@pytest.mark.parametrize(
    ("readings", "unit", "resolution"),
    [
        (("10012", "51970"), "counts", 1.0),
        (("10012 counts", "51970.5 counts"), "counts", 0.1),
        (("0.00012 mV/V", "0.5 mV/V"), "mV/V", 1e-5),
        (("1.250e3", "2.5E+03"), "counts", 1.0),
        (("1.2e4", "52e3"), "counts", 1000.0),
        (("1.25e-02 mV/V", "5e-1 mV/V"), "mV/V", 1e-4),
    ],
)
def test_the_finest_reading_gives_unit_and_resolution(readings, unit, resolution):
    rows = "".join(f"1,rising,0,0,{text},,\n" for text in readings)
    made = parse_readings(COLUMNS + rows)
    assert made.unit == unit
    assert made.resolution == pytest.approx(resolution)
    assert made.reading == pytest.approx([float(text.split()[0]) for text in readings])
