"""The table as people write it: positions of every kind, decimal commas, and what cannot be, by row and column."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.core import InputError
from feltload.signal.movement.travel import HandleTravel
from feltload.signal.session import Reference
from feltload.signal.stops.readings import PositionKind
from feltload.signal.stops.table import TableOptions, position_kind, read_stops, smallest_step

REFERENCE = Reference("invented", np.radians(-20.0), 0.0)
KNOWN = TableOptions(load_kg=40.0)


def read(tmp_path, text: str, options: TableOptions = KNOWN, reference: Reference = REFERENCE):
    path = tmp_path / "stops.csv"
    path.write_text(text, encoding="utf-8")
    return read_stops(path, reference, options)


def rows(*cells: str) -> str:
    return "\n".join(cells) + "\n"


def test_elevation_counts_from_the_start_angle(tmp_path):
    got = read(tmp_path, rows("angle_deg,reading_n", "-20,100", "0,110", "20,120", "40,130"))
    assert np.degrees(got.q_rad) == pytest.approx([0, 20, 40, 60])
    assert np.degrees(got.u_q_rad) == pytest.approx(1.0)
    assert got.force_n.tolist() == [100, 110, 120, 130] and not got.position_stated
    assert got.way.tolist() == [0, 0, 0, 0]


def test_a_scale_that_shows_kg_shows_a_force_in_kgf(tmp_path):
    # 1 kgf = 9.80665 N, 1 lbf = 4.4482216152605 N exactly: NIST SP 811, appendix B.8.
    got = read(tmp_path, rows("rotation_deg,reading_kg", "0,10", "1,10", "2,10", "3,10.5"))
    assert got.force_n[0] == pytest.approx(98.0665)
    assert got.step_n == pytest.approx(0.980665)
    got = read(tmp_path, rows("rotation_deg,reading_lbf", "0,10", "1,10", "2,10", "3,11"))
    assert got.force_n[0] == pytest.approx(44.482216152605)


def test_parts_of_the_travel_need_the_travel(tmp_path):
    text = rows("travel_percent,reading_n,way", "0,1,up", "50,2,down", "75,3,raising", "100,4,")
    with pytest.raises(InputError, match="--travel"):
        read(tmp_path, text)
    got = read(tmp_path, text, TableOptions(40.0, travel_rad=1.5))
    assert got.q_rad == pytest.approx([0, 0.75, 1.125, 1.5])
    assert got.way.tolist() == [1, -1, 1, 0]


def test_a_way_of_the_handle_is_turned_into_rotation(tmp_path):
    text = rows("handle_travel_cm,reading_n", "0,1", "20,2", "40,3", "60,4")
    with pytest.raises(InputError, match="rotation_deg"):
        read(tmp_path, text)
    arc = Reference("arm", 0.0, 0.0, handle_travel=HandleTravel(np.linspace(0, 2, 9), np.full(9, 0.6)))
    got = read(tmp_path, text, reference=arc)
    assert got.q_rad == pytest.approx([0, 1 / 3, 2 / 3, 1.0], abs=1e-4)
    assert got.u_q_rad == pytest.approx(0.01 / 0.6, rel=1e-3)
    with pytest.raises(InputError, match="outside 0 to 120 cm"):
        read(tmp_path, text.replace("60,4", "600,4"), reference=arc)


def test_spreadsheets_of_decimal_commas_and_comments(tmp_path):
    readings = ("0;21,5;raising", "10;22;", "", "20;22,5;", "30;21;")
    text = "\ufeff" + rows("# at the window", "Rotation_deg; Reading_kgf; Way", *readings)
    got = read(tmp_path, text)
    assert got.force_n[0] == pytest.approx(21.5 * 9.80665)
    assert got.row.tolist() == [3, 4, 6, 7]


def test_the_smallest_step_is_how_it_was_written():
    assert smallest_step(["12.5", "13", "14.25"]) == pytest.approx(0.01)
    assert smallest_step(["12.5", "13.0", "14.5", "15.5"]) == pytest.approx(0.5)
    assert smallest_step(["12.2", "13.4", "14.0", "15.8"]) == pytest.approx(0.2)
    assert smallest_step(["20", "20", "20", "20"]) == pytest.approx(1.0)


GOOD = ("rotation_deg,reading_kgf,way", "0,21,up", "10,22,up", "20,23,up", "30,24,up")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (rows(GOOD[0]), "no readings"),
        (rows("rotation_deg,way", "0,up"), "no column of a reading"),
        (rows("reading_n,way", "0,up"), "no column of a position"),
        (rows("rotation_deg,angle_deg,reading_n", "0,0,1"), "for one position"),
        (rows("rotation_deg,reading_n,speed", "0,1,2"), "column speed is not known"),
        (rows("rotation_deg,rotation_deg,reading_n", "0,1,2"), "duplicate column"),
        (rows(*GOOD, "40,heavy,up"), 'row 6, column reading_kgf: "heavy" is not a number'),
        (rows(*GOOD, "40,,up"), "row 6, column reading_kgf: is empty"),
        (rows(*GOOD, "40,25,sideways"), "row 6, column way"),
        (rows(*GOOD, "40,25,up,1"), "row 6: 4 cells under 3"),
        (rows(*GOOD, "40,99999,up"), "no handle carries"),
        (rows(*GOOD, "4000,25,up"), "more than a turn"),
        (rows(*GOOD[:3]), "at 2 places"),
        ("\x00", "no readings"),
    ],
)
def test_what_cannot_be_names_row_column_and_remedy(tmp_path, text, said):
    with pytest.raises(InputError) as caught:
        read(tmp_path, text)
    assert said in str(caught.value)
    assert caught.value.remedy and "\n" not in str(caught.value)


def test_a_row_without_a_load_needs_one(tmp_path):
    text = rows("rotation_deg,reading_n,load", "0,1,20 kg", "1,2,20 kg", "2,3,20 kg", "3,4,")
    with pytest.raises(InputError, match='row 5: no load is stated; give a mass, such as --load "40 kg"'):
        read(tmp_path, text, TableOptions())


def test_the_kind_of_position_is_known_from_the_head(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(rows("handle_travel_mm,reading_n", "0,1"))
    assert position_kind(path) is PositionKind.WAY
