"""Positions, ranges and plates as they are typed."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from feltload.app.cli import main
from feltload.app.jobs.quantities import read_ends_rad, read_percent, read_position_rad, read_range_rad
from feltload.coaching import LoadLine
from feltload.core import FeltloadError
from feltload.signal import AngleKind, PositionScale, Travel
from lever_profile import lever_profile

TRAVEL = Travel(np.deg2rad([-20.0, 40.0]), np.array([0.05, 0.65]))
DRUM = replace(TRAVEL, scale=PositionScale(AngleKind.ROTATION, "drum"), start_angle_rad=np.deg2rad(-20.0))
LINKAGE = replace(
    TRAVEL, scale=PositionScale(AngleKind.HANDLE_LINE, "crank", line_rad=np.deg2rad([50.0, 20.0]))
)
TWICE = Travel(
    np.deg2rad([0.0, 30.0, 60.0]),
    np.array([0.0, 0.2, 0.4]),
    PositionScale(AngleKind.HANDLE_LINE, "crank", line_rad=np.deg2rad([5.0, 25.0, 10.0])),
)


@pytest.mark.parametrize(
    ("text", "angle_deg"),
    [("20 deg", 20.0), ("-5 deg", -5.0), ("50 %", 10.0), ("25%", -5.0), ("100 %", 40.0), ("35 cm", 10.0)],
)
def test_a_position_is_an_angle_a_part_of_the_travel_or_a_way_of_the_handle(
    text: str, angle_deg: float
) -> None:
    assert np.rad2deg(read_position_rad(text, "--stop", TRAVEL)) == pytest.approx(angle_deg)


@pytest.mark.parametrize(
    ("text", "ends_deg"), [("20:40 deg", (20, 40)), ("-5 deg:10 deg", (-5, 10)), ("50:75 %", (10, 25))]
)
def test_a_range_is_typed_the_same_way(text: str, ends_deg: tuple[int, int]) -> None:
    assert np.rad2deg(read_range_rad(text, "--between", TRAVEL)) == pytest.approx(ends_deg)


@pytest.mark.parametrize(
    ("travel", "text", "ends_deg"),
    [
        (DRUM, "50:75 %", (10, 25)),
        (DRUM, "350:500 mm", (10, 25)),
        # Its line turns back from 50° to 20° while the handle goes on: 35° to 27.5° are half and three quarters.
        (LINKAGE, "27.5:35 deg", (10, 25)),
        (LINKAGE, "35:50 cm", (10, 25)),
    ],
)
def test_a_range_on_another_mechanism_is_in_what_its_positions_have(
    travel: Travel, text: str, ends_deg: tuple[int, int]
) -> None:
    assert np.rad2deg(read_range_rad(text, "--painful", travel)) == pytest.approx(ends_deg)


@pytest.mark.parametrize(
    ("travel", "text", "why"),
    [
        (DRUM, "20:40 deg", "no angle of its own; write .31 cm. from the start stop"),
        (LINKAGE, "60:70 deg", "names no one position"),
        (TWICE, "12:20 deg", "names no one position"),
        (Travel(np.deg2rad([0.0, 60.0])), "20:30 cm", "way is not known"),
    ],
)
def test_what_a_machines_positions_do_not_have_is_refused_not_misread(
    travel: Travel, text: str, why: str
) -> None:
    with pytest.raises(FeltloadError, match=f"--painful.*{why}"):
        read_range_rad(text, "--painful", travel)


def test_a_part_of_a_travel_that_was_not_measured_is_refused() -> None:
    with pytest.raises(FeltloadError, match="not known here"):
        read_range_rad("20:30 %", "--painful", TRAVEL, measured=False)


@pytest.mark.parametrize("text", ["50:75 %", "40:20 deg", "20 deg", "20:nothing"])
def test_a_range_that_is_none_is_refused(text: str) -> None:
    # Without the travel, a part of it is no position.
    with pytest.raises(FeltloadError, match="--painful"):
        read_range_rad(text, "--painful")


@pytest.mark.parametrize(("text", "percent"), [("2 %", 2.0), ("2", 2.0), ("0.5%", 0.5)])
def test_percent_is_a_number_of_percent(text: str, percent: float) -> None:
    assert read_percent(text, "--see") == percent


@pytest.mark.parametrize("text", ["0", "-1 %", "120 %", "two", "nan"])
def test_percent_out_of_reason_is_refused(text: str) -> None:
    with pytest.raises(FeltloadError, match=r"--see.*percent"):
        read_percent(text, "--see")


def test_a_start_and_a_stop_lie_inside_the_measured_travel() -> None:
    line = LoadLine.of(lever_profile())
    travel = line.travel
    assert np.rad2deg(read_ends_rad("10 %", "25 deg", line, travel)) == pytest.approx([-18.0, 25.0])
    assert read_ends_rad(None, None, line, travel) == (None, None)
    for start, stop, named in (("-30 deg", None, "a start"), (None, "100 %", "a stop")):
        with pytest.raises(FeltloadError, match=named):
            read_ends_rad(start, stop, line, travel)


def test_a_limit_and_a_what_if_take_only_plates_at_hand(measured_row, tmp_path, capsys) -> None:
    def answer(*words: str) -> dict[str, object]:
        assert main(["client", *words, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    limit = ("limit", str(measured_row), "--force", "150 N", "--between", "0:20 deg")
    free, made = (answer(*limit, *more) for more in ((), ("--plates-available", "2.5 5 10 kg")))
    assert made["load_kg"] <= free["load_kg"] < made["load_kg"] + 2.5
    assert made["load_kg"] % 2.5 == 0.0
    table = tmp_path / "capacity.csv"
    table.write_text("angle_deg,force_n\n-30,400\n0,350\n32,300\n", encoding="utf-8")
    capacity = str(tmp_path / "capacity.json")
    assert main(["client", "capacity", str(table), "--out", capacity, "--quiet"]) == 0
    capsys.readouterr()
    tried = answer(
        *("what-if", str(measured_row), capacity, "--load", "40 kg", "--plates", "27 kg"),
        *("--plates-available", "2.5 5 10 kg"),
    )
    assert [change["load_kg"] for change in tried["changes"]] == [40.0, 25.0]
