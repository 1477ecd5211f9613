"""What a client's sheet suggests: never more than was chosen, each demand with its band, hardest as sure as it is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.app.text.person.sheet import describe_changes, describe_sheet_headline, sheet_key_figures
from feltload.coaching import LoadLine, Match, match_capacity, plan_help
from lever_profile import lever_profile
from made_capacity import made_capacity

PROFILE = lever_profile()
LINE, ALONG = LoadLine.of(PROFILE), PROFILE.travel
STRONG, WEAK = made_capacity(force_n=(900.0, 500.0)), made_capacity(force_n=(420.0, 250.0))


def matched(load_kg: float, capacity=WEAK) -> Match:
    return match_capacity(LINE, capacity, load_kg)


def changes(load_kg: float, capacity=WEAK, aim: float | None = None) -> list[str]:
    plan = plan_help(LINE, capacity, load_kg, aim)
    return describe_changes(LINE, capacity, matched(load_kg, capacity), plan, ALONG, None, None, aim=aim)


@pytest.mark.parametrize("aim", [None, 0.9])
def test_a_light_load_stays_as_it_was_chosen(aim: float | None) -> None:
    plates, _ = changes(20.0, STRONG, aim)
    assert plates.startswith("Plates: with 20 kg it asks for ")
    assert plates.endswith("none need to come off.")


def test_fewer_plates_are_named_with_what_they_would_ask_for() -> None:
    plates, _ = changes(40.0)
    load_kg = float(plates.split("with ")[1].split(" kg")[0])
    fewer = matched(load_kg)
    assert load_kg < 40.0 and fewer.limiting_demand <= 0.7
    band = f"{100 * fewer.limiting_demand:.0f} ± {200 * fewer.u_limiting_demand:.0f} %"
    assert band in plates and "predicted" in plates


def test_a_painful_range_keeps_no_plates_on() -> None:
    # Without its hardest part the movement asks for less than is aimed at; with it the load is too heavy.
    free = matched(40.0)
    low = free.limiting_angle_rad - np.deg2rad(12.0)
    sore = WEAK.marked([(low, float(WEAK.angle_rad[-1]))])
    aim = 0.5 * (matched(40.0, sore).limiting_demand + free.limiting_demand)
    plates, _ = changes(40.0, sore, aim)
    assert plates.startswith("Fewer plates: ") and "no more than without the painful range" in plates


def test_resistance_is_called_so() -> None:
    _, hands = changes(40.0, made_capacity(force_n=(400.0, 160.0)))
    assert hands.startswith("Help and resistance by hand as planned, with 40 kg: 70 ± ")
    _, hands = changes(20.0, made_capacity(force_n=(300.0, 300.0)), 0.6)
    assert hands.startswith("Resistance by hand as planned, with 20 kg: 60 ± ")
    even = made_capacity(force_n=(400.0, 400.0), u=0.3)
    assert changes(20.0, even)[1].startswith("By hand, with 20 kg: nothing")


def test_what_no_partner_can_give_is_not_planned() -> None:
    plates, hands = changes(40.0, made_capacity(force_n=(150.0, 100.0)))
    assert plates.startswith(("Fewer plates", "Plates"))
    assert (
        "more than 100 N (10.2 kgf) in places, which no partner gives evenly; take plates off first." in hands
    )


def test_a_load_above_those_measured_is_said_before_anything_else() -> None:
    first, *_ = changes(60.0, STRONG)
    assert first.startswith("60 kg is more than the machine was measured with (40 kg): the rated loads")


def test_beside_a_painful_range_hands_only_help() -> None:
    sore = made_capacity(force_n=(700.0, 160.0)).marked([(np.deg2rad(-25.0), np.deg2rad(-5.0))])
    _, hands = changes(40.0, sore)
    assert hands.startswith("Help by hand as planned, with 40 kg: at most 70 ± ")


def test_the_demand_carries_its_band() -> None:
    match = matched(40.0)
    where, asked, _ = sheet_key_figures(match, ALONG)
    assert asked.value == f"{100 * match.limiting_demand:.0f} ± {200 * match.u_limiting_demand:.0f} %"
    assert "somewhere from" in where.detail


@pytest.mark.parametrize(
    ("share_range", "said"),
    [
        ((0.70, 0.95), "hardest for you in the last third of the movement."),
        ((0.50, 0.95), "hardest for you in the middle or the last third of the movement."),
        ((0.10, 0.95), "asks for so much the same of you that no part of the movement stands out."),
    ],
)
def test_the_hardest_third_is_named_as_far_as_it_is_known(
    share_range: tuple[float, float], said: str
) -> None:
    match = matched(40.0)
    low, high = np.interp(share_range, [0.0, 1.0], match.angle_rad[[0, -1]])
    assert describe_sheet_headline(replace(match, limiting_range_rad=(low, high)), ALONG).endswith(said)
