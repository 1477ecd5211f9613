"""A band's or chain's table: every way to give its positions, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import CoachingError, added_from_table
from feltload.signal import AngleKind, PositionScale, Travel

ANGLE_RAD = np.deg2rad(np.linspace(0.0, 60.0, 61))
LEVER = Travel(ANGLE_RAD, 0.5 * ANGLE_RAD)
DRUM_SCALE = PositionScale(AngleKind.ROTATION, "drum")
DRUM_TURNS_RAD = np.linspace(1.0, 11.0, 101)
DRUM = Travel(DRUM_TURNS_RAD, 0.2 * (DRUM_TURNS_RAD - 1.0) ** 1.5, DRUM_SCALE)
UNKNOWN = Travel(DRUM_TURNS_RAD, None, DRUM_SCALE)


def _written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "band.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("travel", "text", "at_rad"),
    [
        (LEVER, "angle_deg,force_n\n0,0\n30,20\n60,50\n", np.deg2rad([0.0, 30.0, 60.0])),
        (LEVER, "travel_percent,force_n\n50,20\n0,0\n100,50\n", np.deg2rad([0.0, 30.0, 60.0])),
        # Ways of the drum's handle are 0.2 q^1.5 m: 1.6 m at a rotation of 4 rad, 5.4 m at 9 rad.
        (
            DRUM,
            "handle_travel_mm,force_n\n0,0\n1600,20\n5400,50\n6324.56,60\n",
            np.array([1.0, 5.0, 10.0, 11.0]),
        ),
        (UNKNOWN, "travel_percent,force_n\n0,0\n40,20\n100,50\n", np.array([1.0, 5.0, 11.0])),
    ],
)
def test_positions_as_a_result_has_them(tmp_path, travel, text, at_rad) -> None:
    band = added_from_table(_written(tmp_path, text), travel)
    assert band.name == "band"
    assert band.angle_rad == pytest.approx(at_rad, abs=1e-3)
    assert band.force_n[:3] == pytest.approx([0.0, 20.0, 50.0])


@pytest.mark.parametrize(
    ("travel", "text", "message"),
    [
        (DRUM, "angle_deg,force_n\n0,0\n30,20\n60,50\n", "no lever angle: its sensor turns with the drum"),
        (UNKNOWN, "handle_travel_mm,force_n\n0,0\n400,20\n900,50\n", "not known on this machine"),
        (LEVER, "force_n\n0\n20\n50\n", "column handle_travel_mm or travel_percent or angle_deg is missing"),
        (LEVER, "angle_deg,travel_percent,force_n\n0,0,0\n30,50,20\n60,100,50\n", "gives positions twice"),
        (LEVER, "travel_percent,force_n\n0,0\n0.5,20\n1,50\n", "gives the force from 0° to 1° only"),
        (LEVER, "angle_deg,force_n\n7,0\n30,20\n60,50\n", "gives the force from 7° to 60° only"),
        (LEVER, "travel_percent,force_n\n0,0\n50,20\n50,30\n100,50\n", "duplicate position"),
        (LEVER, "travel_percent,force_n\n0,0\n50,-20\n100,50\n", "row 3 holds a force below zero"),
        (LEVER, "travel_percent,force_n\n0,0\n50,x\n100,50\n", "row 3 holds something that is not a number"),
    ],
)
def test_what_names_no_positions_is_one_clear_line(tmp_path, travel, text, message) -> None:
    with pytest.raises(CoachingError, match=message) as caught:
        added_from_table(_written(tmp_path, text), travel)
    assert "band.csv" in str(caught.value) and "\n" not in str(caught.value)
