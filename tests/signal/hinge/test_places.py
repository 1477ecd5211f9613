"""Places to which the arm comes back, picked from angles that are written down."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from feltload.signal.hinge.smoother.model import LEVELS, SCALE
from feltload.signal.hinge.smoother.places import Places, ends_of_travel, joined, rests_on_the_stop

LEG = 50
"""Samples from one corner to the next."""


def legs(*corners):
    """An angle that goes straight from corner to corner, a hundred samples a second."""
    theta = np.interp(np.arange(LEG * (len(corners) - 1) + 1) / LEG, np.arange(len(corners)), corners)
    return np.arange(theta.size) / 100.0, theta


CORNERS = (0.3, 1.0, 0.0, 1.02, 0.01, 0.98, -0.02, 1.0, 0.0, 0.5)


def test_ends_of_the_travel_are_where_the_arm_turns_back_but_for_the_first_and_the_last():
    time_s, theta = legs(*CORNERS)
    ends = ends_of_travel(time_s, 2.0 * theta, theta)
    assert ends.time_s == pytest.approx(0.5 * np.arange(2, 8))
    assert ends.level.tolist() == [1, 2, 1, 2, 1, 2]
    assert ends.turned == pytest.approx(2.0 * np.array(CORNERS[2:8]))
    # Three ends bend once: 1.02 - 2 x 0.98 + 1.0 = 0.06, and 0 - 2 x 0.01 - 0.02 = -0.04.
    high, low = 1.4826 * np.array([0.06, 0.04]) / np.sqrt(6.0)
    assert ends.u_rad == pytest.approx([low, high] * 3)
    assert ends.trend_u_rad == pytest.approx(low)
    # Upside down the ends change their names alone.
    turned_round = ends_of_travel(time_s, theta, -theta)
    assert turned_round.level.tolist() == [2, 1, 2, 1, 2, 1]
    assert turned_round.u_rad == pytest.approx(ends.u_rad)


def test_a_steady_drift_and_a_pause_on_the_way_are_no_scatter_and_no_end():
    drift = 0.01 * np.arange(12)
    corners = np.array([0.3, 1.0, 0.0, 0.6, 0.4, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.5]) + drift
    ends = ends_of_travel(*(lambda time_s, theta: (time_s, theta, theta))(*legs(*corners)))
    # Back from 0.6 to 0.4 is less than three tenths of the travel.
    assert ends.turned == pytest.approx(corners[[2, 5, 6, 7, 8, 9]])
    assert ends.level.tolist() == [1, 2, 1, 2, 1, 2]
    # The low ends lie four and two corners apart, which bends them by 0.02; the high ones two and two. No end is known
    # better than to 0.1°.
    assert ends.u_rad[ends.level == 2] == pytest.approx([np.radians(0.1)] * 3)
    assert ends.u_rad[ends.level == 1] == pytest.approx([1.4826 * 0.02 / np.sqrt(6.0)] * 3)


@pytest.mark.parametrize(
    "corners",
    [
        # Two low ends and three high ones; then upper ends that alternate, whether there are four or five.
        (0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.3),
        (0.3, 1.0, 0.0, 1.0, 0.0, 0.7, 0.0, 1.0, 0.0, 0.7, 0.0, 0.5),
        (0.3, 1.0, 0.0, 1.0, 0.0, 0.4, 0.0, 1.0, 0.0, 0.4, 0.0, 1.0, 0.0, 0.5),
    ],
)
def test_too_few_ends_or_ends_everywhere_hold_nothing(corners):
    time_s, theta = legs(*corners)
    assert ends_of_travel(time_s, theta, theta) is None


def rests(levels_deg, top_deg):
    """Ten samples at each of these levels and then at the top, at a hundred a second; the reading is the double."""
    theta = np.radians(np.concatenate([[level] * 10 + [top_deg] * 10 for level in levels_deg]))
    still = np.tile([True] * 10 + [False] * 10, len(levels_deg))
    return SimpleNamespace(sample_turned=2.0 * theta), still, np.arange(theta.size) / 100.0, theta


@pytest.mark.parametrize(
    ("levels", "top", "chosen"),
    [
        # Six degrees, or a tenth of a travel of 40.
        ([1.0, 6.9, 7.1, -4.9, -5.1], 80.0, [0, 1, 3]),
        ([0.0, 3.9, 4.1, 39.0], 40.0, [0, 1]),
    ],
)
def test_rests_near_the_first_one_are_on_the_stop(levels, top, chosen):
    places = rests_on_the_stop(*rests(levels, top))
    assert places.time_s == pytest.approx([0.2 * k + 0.045 for k in chosen])
    assert places.turned == pytest.approx(2.0 * np.radians([levels[k] for k in chosen]))
    assert places.level.tolist() == [0] * len(chosen)
    assert places.u_rad == pytest.approx([np.radians(0.2)] * len(chosen))
    assert places.trend_u_rad == 0.0


@pytest.mark.parametrize(("back", "count"), [(0.05, 6), (0.1, 8)])
def test_a_turn_back_counts_by_its_part_of_the_travel(back, count):
    """A travel of a quarter: back by 0.1 is more than three tenths of it, by 0.05 less."""
    time_s, theta = legs(0.1, 0.25, 0.0, 0.15, 0.15 - back, 0.25, 0.0, 0.25, 0.0, 0.25, 0.0, 0.1)
    assert ends_of_travel(time_s, theta, theta).time_s.size == count


def test_two_rests_are_enough():
    assert rests_on_the_stop(*rests([0.0, 1.0], 80.0)).time_s.size == 2


@pytest.mark.parametrize("levels", [[0.0], [0.0, 20.0, 30.0]])
def test_one_rest_alone_is_no_place_to_come_back_to(levels):
    assert rests_on_the_stop(*rests(levels, 80.0)) is None


def places(time_s, level, u=0.1, trend=0.0):
    time_s = np.asarray(time_s, dtype=float)
    return Places(time_s, 10.0 * time_s, np.full(time_s.size, level), np.full(time_s.size, u), trend)


def test_places_of_several_kinds_are_put_in_the_order_of_time():
    both = joined(places([1.0, 4.0], 0, 0.1), None, places([2.0, 3.0, 5.0], 2, 0.3, trend=0.02))
    assert both.time_s.tolist() == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert both.turned.tolist() == [10.0, 20.0, 30.0, 40.0, 50.0]
    assert both.level.tolist() == [0, 2, 2, 0, 2]
    assert both.u_rad.tolist() == [0.1, 0.3, 0.3, 0.1, 0.3]
    assert both.trend_u_rad == 0.02
    assert joined(None, None) is None


def test_what_is_left_at_a_place_and_what_it_counts():
    """Levels of 0.5 and -0.2 rad, a scale of 2 %: 0.5 - 1.02 x 10 - 0.3 at the first."""
    made = Places(np.array([1.0, 2.0]), np.array([10.0, -0.1]), np.array([0, 2]), np.array([0.1, 0.2]))
    unknown = np.zeros(LEVELS.stop)
    unknown[SCALE] = 0.02
    unknown[LEVELS] = [0.5, 7.0, -0.2]
    drift = np.array([0.3, -0.4])
    assert made.errors(drift, unknown) == pytest.approx([0.5 - 10.2 - 0.3, -0.2 + 0.102 + 0.4])
    for k in range(LEVELS.stop):
        step = np.zeros(LEVELS.stop)
        step[k] = 1e-3
        change = (made.errors(drift, unknown - step) - made.errors(drift, unknown + step)) / 2e-3
        assert made.by_unknown[:, k] == pytest.approx(change, abs=1e-9)
    # Student's t of two degrees of freedom: 3 / (2 + z²) of 1 / u², and 3 ln(1 + z² / 2).
    assert made.weight(np.array([0.0, 0.4])) == pytest.approx([1.5 / 0.01, 0.5 / 0.04])
    assert made.cost(np.array([0.0, 0.2 * np.sqrt(2.0)])) == pytest.approx(3.0 * np.log(2.0))
