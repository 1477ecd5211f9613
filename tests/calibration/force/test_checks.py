"""What stops a calibration names the rows that are wrong, from readings written down by hand."""

import re

import numpy as np
import pytest

from feltload.calibration.errors import OverloadError, ReadingsError
from feltload.calibration.force.checks import check_blunders, check_capacity, check_coverage
from feltload.calibration.force.readings import parse_readings

COLUMNS = "# serial: T-1\n# rated capacity: 500 N\nseries,direction,force_n,reading\n"
# Rows 4 to 14 of the file: 84 counts/N.
FORCES = (0, 100, 200, 300, 400, 500, 400, 300, 200, 100, 0)


def made(wrong=None, forces=FORCES, directions=("rising",) * 6 + ("falling",) * 5):
    """Readings, with other ones at the file's rows in `wrong`."""
    rows = []
    for row, (force, direction) in enumerate(zip(forces, directions, strict=True), start=4):
        rows.append(f"1,{direction},{force},{(wrong or {}).get(row, 1000 + 84 * force)}")
    return parse_readings(COLUMNS + "\n".join(rows) + "\n", where="cell.csv")


def everything(readings):
    return np.ones(len(readings), dtype=bool)


def test_an_overload_names_the_row_of_the_greatest_force():
    readings = made(forces=(0, 100, 510, 300, 620, 500, 610, 300, 200, 100, 0))
    with pytest.raises(OverloadError) as caught:
        check_capacity(readings, readings.load, readings.setup)
    assert "row 8 hangs 620 N on a cell rated 500 N" in str(caught.value)
    assert caught.value.rows == (8,)
    assert str(caught.value).startswith("cell.csv: ")


def test_the_rated_force_itself_and_an_unknown_capacity_are_no_overload():
    readings = made()
    assert check_capacity(readings, readings.load, readings.setup) is None
    unknown = parse_readings("series,direction,force_n,reading\n1,rising,9000,1\n")
    assert check_capacity(unknown, unknown.load, unknown.setup) is None


@pytest.mark.parametrize(
    ("rows", "more"),
    [((7,), ""), ((7, 10), " (and 1 more: row 10)"), ((7, 10, 12), " (and 2 more: rows 10, 12)")],
)
def test_readings_far_off_are_named_by_their_rows(rows, more):
    wrong = {row: 10 * (1000 + 84 * FORCES[row - 4]) for row in rows}
    readings = made(wrong)
    with pytest.raises(ReadingsError) as caught:
        check_blunders(readings, readings.load, everything(readings))
    words = "the reading looks typed ten times too large (26200 would fit)"
    assert f"cell.csv: row 7: reading 262000 stands far off the others: {words}{more};" in str(caught.value)
    assert caught.value.rows == rows


def test_a_row_that_is_not_used_shifts_no_number():
    readings = made({5: 9, 12: 178000})
    used = everything(readings)
    used[readings.row == 5] = False
    with pytest.raises(ReadingsError) as caught:
        check_blunders(readings, readings.load, used)
    assert caught.value.rows == (12,)
    assert re.search(r"row 12: reading 178000 stands", str(caught.value))
    used[readings.row == 12] = False
    assert check_blunders(readings, readings.load, used) is None


@pytest.mark.parametrize(("forces", "loads"), [((100, 200, 300, 400), 4), ((100, 200, 300, 400, 400.001), 4)])
def test_too_few_loads_are_counted(forces, loads):
    # Loads that part by less than a hundred-thousandth of the greatest are one.
    readings = made(forces=forces, directions=("rising",) * (len(forces) - 1) + ("falling",))
    with pytest.raises(ReadingsError, match=f"too few points: {loads} different loads above zero"):
        check_coverage(readings, readings.load, everything(readings), False)
    wider = made(forces=(*forces[:4], 400.01), directions=("rising",) * 4 + ("falling",))
    assert check_coverage(wider, wider.load, everything(wider), False) is None


@pytest.mark.parametrize("direction", ["rising", "falling"])
def test_readings_of_one_direction_are_taken_only_if_allowed(direction):
    readings = made(forces=(100, 200, 300, 400, 500), directions=(direction,) * 5)
    with pytest.raises(ReadingsError, match=f"one direction only: all readings are {direction}"):
        check_coverage(readings, readings.load, everything(readings), False)
    assert check_coverage(readings, readings.load, everything(readings), True) is None
