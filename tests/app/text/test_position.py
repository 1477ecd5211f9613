"""Positions as a gym says them, with the angle beside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.app.text.facts import describe
from feltload.app.text.position import describe_position, describe_span, in_third, short_position
from feltload.signal import FindingFact, Travel, summarize_findings
from lever_profile import lever_profile

ANGLES = np.radians(np.linspace(-20.0, 40.0, 61))
TRAVEL = Travel(ANGLES, 0.65 * (ANGLES - ANGLES[0]))


@pytest.mark.parametrize(
    ("angle_deg", "words"),
    [
        (-20.0, "the start of the travel (−20°)"),
        (-5.0, "25 % of the travel (first third, 17 cm from the start stop, −5°)"),
        (10.0, "50 % of the travel (middle, 34 cm from the start stop, 10°)"),
        (25.0, "75 % of the travel (last third, 51 cm from the start stop, 25°)"),
        (39.9, "the end of the travel (40°)"),
        (55.0, "55°, outside the measured travel"),
    ],
)
def test_a_position_is_a_part_of_the_travel_then_centimetres_then_degrees(
    angle_deg: float, words: str
) -> None:
    assert describe_position(np.radians(angle_deg), TRAVEL) == words


def test_where_the_handles_way_is_not_known_it_is_left_out() -> None:
    assert describe_position(np.radians(10.0), Travel(ANGLES)) == "50 % of the travel (middle, 10°)"


def test_where_room_is_short() -> None:
    assert short_position(np.radians(25.0), TRAVEL) == "75 % (25°)"
    assert (
        describe_span((np.radians(-5.0), np.radians(25.0)), TRAVEL)
        == "25 to 75 % of the travel (17 to 51 cm from the start stop, −5° to 25°)"
    )
    assert [in_third(share) for share in (0.0, 0.33, 0.34, 0.66, 0.67, 1.0)] == [
        *2 * ["in the first third"],
        *2 * ["in the middle"],
        *2 * ["in the last third"],
    ]


def test_a_finding_says_its_position_with_and_without_the_handles_way() -> None:
    bare = lever_profile(loads_kg=(40.0,))
    known = replace(bare, handle_path_m=0.65 * (bare.angle_rad - bare.angle_rad[0]))
    heaviest = [
        next(describe(fact) for fact in summarize_findings(estimate) if fact.kind == FindingFact.HEAVIEST)
        for estimate in (bare, known)
    ]
    # The lever's weight pulls hardest where its line is level: 25° of 70° into the travel.
    assert "heaviest at 36 % of the travel (middle, 0°)" in heaviest[0]
    assert "heaviest at 36 % of the travel (middle, 28 cm from the start stop, 0°)" in heaviest[1]
