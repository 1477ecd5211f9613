"""Positions proposed for maximal holds."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import WARM_UP, CapacityError, plan_holds

LOW, HIGH = np.deg2rad([-30.0, 32.0])


@pytest.mark.parametrize(("travel_deg", "count"), [(40.0, 5), (62.0, 6), (75.0, 7), (140.0, 7)])
def test_wider_travel_takes_more_positions_between_five_and_seven(travel_deg, count):
    proposed = plan_holds(0.0, np.deg2rad(travel_deg))
    assert len(proposed.angle_rad) == count
    inside = np.sort(proposed.angle_rad)
    assert inside == pytest.approx(np.deg2rad(travel_deg) * np.linspace(0.05, 0.95, count))


def test_one_hold_is_far_from_the_one_before():
    """Neighbours are never held one after the other while others are left."""
    proposed = plan_holds(LOW, HIGH, count=5)
    assert proposed.share == pytest.approx((0.95, 0.05, 0.5, 0.725, 0.275))
    # Of seven, 9° apart from 3° on: both ends, the middle, then 9° from all others and farthest from the last.
    seven = plan_holds(0.0, np.deg2rad(60.0), count=7)
    assert np.rad2deg(seven.angle_rad) == pytest.approx([57.0, 3.0, 30.0, 48.0, 12.0, 39.0, 21.0])
    steps = np.abs(np.diff(proposed.share))
    assert steps.min() >= 0.22 - 1e-9
    assert proposed.duration_s == pytest.approx(2 * 5 * 124.0)


def test_painful_positions_are_never_asked_for():
    sore = (np.deg2rad(20.0), np.deg2rad(40.0))
    proposed = plan_holds(LOW, HIGH, painful=[sore])
    assert max(proposed.angle_rad) < sore[0] - np.deg2rad(2.0)
    assert len(proposed.angle_rad) + len(proposed.left_out_rad) == 6
    assert min(proposed.left_out_rad) >= sore[0] - np.deg2rad(2.0)


def test_three_positions_that_do_not_hurt_make_a_curve():
    """Seven from 3° to 57°, nine apart; those up to 30° hurt, or lie within 2° of what does."""
    proposed = plan_holds(0.0, np.deg2rad(60.0), count=7, painful=[tuple(np.deg2rad([0.0, 28.5]))])
    assert np.rad2deg(sorted(proposed.angle_rad)) == pytest.approx([39.0, 48.0, 57.0])
    assert np.rad2deg(proposed.left_out_rad) == pytest.approx([3.0, 12.0, 21.0, 30.0])


def test_efforts_before_the_first_hold_rise_and_stay_below_the_greatest():
    assert 0.0 < WARM_UP[0] < WARM_UP[1] < WARM_UP[2] < 1.0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"count": 2}, "too few for a curve"),
        ({"count": 9}, "too many"),
        ({"painful": [(-1.0, 0.5)]}, "clinician"),
    ],
)
def test_what_makes_no_curve_is_refused(words, said):
    with pytest.raises(CapacityError, match=said):
        plan_holds(LOW, HIGH, **words)
