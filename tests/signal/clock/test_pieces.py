"""Where a counter starts anew, on arrivals without delay: the sample is known exactly."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.clock.pieces import find_pieces, rough_slope, stray_stamps

TIME_S = np.arange(0.0, 40.0, 0.02)
JUMP_S = 0.05


def cuts(counter, arrival_s=TIME_S, slope=1.0, smallest_jump_s=JUMP_S):
    pieces = find_pieces(counter, arrival_s, slope, smallest_jump_s)
    assert [piece.stop for piece in pieces[:-1]] == [piece.start for piece in pieces[1:]]
    assert (pieces[0].start, pieces[-1].stop) == (0, len(counter))
    return [piece.start for piece in pieces[1:]]


@pytest.mark.parametrize("count", [4, 50, 2000])
def test_rough_slope_of_a_straight_line(count):
    counter = np.arange(float(count))
    assert rough_slope(counter, 7.0 + 0.01 * counter) == pytest.approx(0.01, rel=1e-9)


def test_rough_slope_through_a_reset_and_batches():
    counter = np.arange(6000.0)
    arrival_s = np.repeat(0.01 * counter[9::10], 10)
    assert rough_slope(np.where(counter < 2000, counter, counter - 2000), arrival_s) == pytest.approx(
        0.01, rel=1e-3
    )


def test_rough_slope_follows_the_earliest_arrivals():
    # One in ten is not late; the others are by up to 2 s, the later the more.
    counter = np.arange(6000.0)
    delay = np.random.default_rng(3).uniform(0.1, 2.0, 6000) * counter / 6000.0
    delay[::10] = 0.0
    arrival_s = 0.01 * counter + delay
    assert rough_slope(counter, arrival_s) == pytest.approx(0.01, rel=1e-6)


def test_rough_slope_of_what_shows_none():
    # Nothing rises: seconds per second is the best guess.
    assert rough_slope(np.zeros(4), np.arange(4.0)) == 1.0
    assert rough_slope(np.arange(4.0), np.zeros(4)) == 1.0


def test_no_cut_in_a_sound_counter():
    assert cuts(TIME_S + 5.0) == []
    assert cuts(TIME_S[:3]) == []


@pytest.mark.parametrize("leap_s", [0.06, 10.0, -0.06, -10.0])
def test_a_lasting_leap_is_cut_at_its_sample(leap_s):
    assert cuts(np.where(TIME_S < 17.0, TIME_S, TIME_S + leap_s)) == [850]


def test_a_leap_below_the_smallest_is_left():
    assert cuts(np.where(TIME_S < 17.0, TIME_S, TIME_S + 0.04)) == []


def test_two_leaps_are_two_cuts():
    counter = TIME_S + 3.0 * (TIME_S >= 12.0) + 2.0 * (TIME_S >= 26.0)
    assert cuts(counter) == [600, 1300]


def test_a_leap_that_does_not_last_is_a_stall():
    assert cuts(TIME_S, np.where((TIME_S > 17.0) & (TIME_S < 20.0), 20.0, TIME_S)) == []


def test_a_rough_slope_that_is_wrong_is_no_leap():
    assert cuts(TIME_S * 0.995) == []


def test_steps_back_inside_a_batch_are_left_and_resets_cut_at_once():
    def back(step_s):
        counter = TIME_S.copy()
        counter[100] = counter[99] - step_s
        return counter

    assert cuts(back(0.04)) == []
    assert cuts(back(0.06)) == [100]
    # Only 2 s from the end, too near for the edge to show: a step back of more than 0.1 s is never a batch.
    late = np.where(TIME_S < 38.0, TIME_S, TIME_S - 0.2)
    assert cuts(late, smallest_jump_s=1.0) == [1900]
    assert cuts(np.where(TIME_S < 38.0, TIME_S, TIME_S - 0.11), smallest_jump_s=1.0) == []


def test_counted_numbers_cut_where_they_step_back_by_less_than_a_batch():
    # Numbers at 50 a second: the smallest jump is 0.6 of a sample.
    number = np.arange(2000.0)
    assert cuts(np.where(number < 1900, number, number - 3), slope=0.02, smallest_jump_s=0.012) == [1900]


def test_a_single_stamp_off_both_neighbours_is_stray():
    def stray(counter):
        return np.flatnonzero(
            stray_stamps(np.array(counter), np.arange(float(len(counter))), 1.0, 1.0)
        ).tolist()

    assert stray([0.0, 1.0, 2.0, 900.0, 4.0, 5.0]) == [3]
    assert stray([0.0, 1.0, -900.0, 3.0, 4.0, 5.0]) == [2]
    # Two together are not single; a reset leaves the neighbours apart; twice the tolerance is the limit.
    assert stray([0.0, 1.0, 900.0, 901.0, 4.0, 5.0]) == []
    assert stray([0.0, 1.0, 2.0, 900.0, 901.0, 902.0]) == []
    assert stray([0.0, 1.0, 2.0, 5.1, 4.0, 5.0]) == [3]
    assert stray([0.0, 1.0, 2.0, 4.9, 4.0, 5.0]) == []
    # Fewer than five say too little.
    assert stray([0.0, 900.0, 2.0, 3.0]) == []
