"""Repetitions that a demand allows: published formulas, worked by hand, and a fact of the trade beside them."""

from __future__ import annotations

import pytest

from feltload.coaching import CoachingError, RepetitionRange, brzycki, epley
from published_data import published


def test_formulas_meet_at_ten_repetitions() -> None:
    """Epley 1985 and Brzycki 1993 meet at ten repetitions, 75 % of the maximum (from their formulas)."""
    given = published("epley_brzycki")
    assert epley(given["share"]) == pytest.approx(given["repetitions"])
    assert brzycki(given["share"]) == pytest.approx(given["repetitions"])
    assert brzycki(1.0) == pytest.approx(1.0)
    assert epley(1.0) == 0.0
    with pytest.raises(CoachingError):
        epley(0.0)
    with pytest.raises(CoachingError):
        RepetitionRange(-0.1)


@pytest.mark.parametrize(
    ("demand", "by_epley", "by_brzycki"),
    [
        # 30 (1 / 0.80 - 1) = 7.5 and 37 - 36 x 0.80 = 8.2; 30 (1 / 0.65 - 1) = 16.15 and 37 - 36 x 0.65 = 13.6.
        (0.80, 7.5, 8.2),
        (0.65, 16.153846, 13.6),
    ],
)
def test_an_exact_demand_gives_what_the_formulas_give_by_hand(demand, by_epley, by_brzycki) -> None:
    repetitions = RepetitionRange(demand)
    assert repetitions.low == pytest.approx(min(by_epley, by_brzycki))
    assert repetitions.high == pytest.approx(max(by_epley, by_brzycki))
    assert repetitions.middle == pytest.approx(0.5 * (by_epley + by_brzycki))


@pytest.mark.parametrize(("demand", "usual"), [(0.80, (6.0, 8.0)), (0.65, (15.0, 15.0))])
def test_what_the_trade_expects_lies_in_the_range(demand, usual) -> None:
    """Six to eight repetitions at 80 % of the maximum, about fifteen at 65 %: common practice, no source."""
    repetitions = RepetitionRange(demand, 0.02)
    assert repetitions.low <= usual[0] <= usual[1] <= repetitions.high


def test_the_range_is_that_of_both_ends_of_the_demand() -> None:
    """Demand 0.80, u = 0.05: from 0.898 to 0.702, where the formulas give 3.41 and 4.67, 12.73 and 11.73."""
    repetitions = RepetitionRange(0.80, 0.05)
    assert repetitions.low == pytest.approx(3.41, abs=0.01)
    assert repetitions.high == pytest.approx(12.74, abs=0.01)
    assert repetitions.trusted
    assert not RepetitionRange(0.65, 0.05).trusted
    # However uncertain, a demand is not below 5 %, where the larger figure is 30 (1 / 0.05 - 1).
    assert RepetitionRange(0.10, 0.5).high == pytest.approx(570.0)


def test_a_load_that_can_be_moved_is_moved_once() -> None:
    assert RepetitionRange(0.999).middle == 1.0
    assert RepetitionRange(1.2).high == 0.0


@pytest.mark.parametrize(
    ("other", "least", "middle", "most", "held_down"),
    [
        # 30 (1 / 0.9 - 1) and 37 - 36 x 0.9 against 7.5 and 8.2 repetitions at 0.8.
        (RepetitionRange(0.9), 10.0 / 3.0, 0.5 * (10.0 / 3.0 + 4.6), 4.6, True),
        (RepetitionRange(0.7), 7.5, 7.85, 8.2, False),
        # As wide as from 0.702 to 0.898: only its lower end is lower.
        (RepetitionRange(0.8, 0.05), 3.41, 7.85, 8.2, True),
    ],
)
def test_a_range_never_exceeds_one_that_it_is_no_more_than(other, least, middle, most, held_down) -> None:
    for no_more_than in ((other,), (RepetitionRange(0.5), other)):
        repetitions = RepetitionRange(0.8, 0.0, no_more_than)
        found = (repetitions.low, repetitions.middle, repetitions.high)
        assert found == pytest.approx((least, middle, most), abs=0.01)
        assert repetitions.held_down == held_down
