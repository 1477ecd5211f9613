"""Counters that wrap, restart, repeat and jump: small cases worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition.wire.counting.counters import isolated_outliers, unwrap_clock, unwrap_sequence


def clock(raw, *, size=None, unit_s=1.0, host_s=None):
    raw = np.array(raw, dtype=float)
    host_s = np.arange(raw.size) * 0.1 if host_s is None else np.array(host_s, dtype=float)
    found = unwrap_clock(raw, size, unit_s, host_s)
    return found.device_s.tolist(), np.flatnonzero(found.restarts).tolist(), found.jumps


def sequence(raw, *, size=None, restarts=(), elapsed_s=None, rate_hz=None):
    raw = np.array(raw, dtype=float)
    flags = np.zeros(raw.size, dtype=bool)
    flags[list(restarts)] = True
    elapsed = np.full(max(raw.size - 1, 0), 0.01) if elapsed_s is None else np.array(elapsed_s, dtype=float)
    found = unwrap_sequence(raw, size, flags, elapsed, rate_hz)
    return (
        found.seq.tolist(),
        np.flatnonzero(found.restarts).tolist(),
        np.flatnonzero(found.repeated).tolist(),
        (found.lost, found.gaps),
    )


def test_a_clock_without_a_known_size_that_runs_back_has_begun_again():
    assert clock([5.0, 5.1, 0.0, 0.1], host_s=[0, 0.1, 0.2, 0.3]) == ([5.0, 5.1, 0.0, 0.1], [2], 0)
    # A tenth of a second back is enough: a clock never runs back.
    assert clock([5.0, 5.1, 5.0, 5.1])[1] == [2]
    # One that stands still has not begun again.
    assert clock([5.0, 5.0, 5.1]) == ([5.0, 5.0, 5.1], [], 0)


def test_a_clock_at_its_size_wraps_where_the_host_agrees():
    # 250 + 12 - 256 = 6: twelve counts of a tenth of a second, 1.2 s, and 1.2 s have passed on the host.
    assert clock([250, 6], size=256, unit_s=0.1, host_s=[0.0, 1.2]) == (
        pytest.approx([25.0, 26.2]), [], 0,
    )  # fmt: skip
    # The same step while the host saw 0.1 s pass: 1.2 s against 0.1 s is within the 5 s that delays may make.
    assert clock([250, 6], size=256, unit_s=0.1, host_s=[0.0, 0.1])[1] == []


def test_a_clock_far_back_while_hardly_any_time_passed_has_begun_again():
    # As a wrap it would have been 256 - 200 + 10 = 66 counts, 6.6 s, where the host saw 0.1 s: more than 5 s apart.
    assert clock([200, 10, 11], size=256, unit_s=0.1, host_s=[0.0, 0.1, 0.2]) == (
        pytest.approx([20.0, 1.0, 1.1]), [1], 0,
    )  # fmt: skip
    # 5.6 s where the host saw 1 s is 4.6 s apart: a wrap after a stall of the link.
    assert clock([200, 0], size=256, unit_s=0.1, host_s=[0.0, 1.0])[1] == []


def test_a_silence_of_several_periods_hides_whole_wraps():
    # A period of 25.6 s. The host saw 60 s; 10 counts are 1 s; (60 - 1) / 25.6 = 2.3: two wraps, 52.2 s.
    assert clock([100, 110], size=256, unit_s=0.1, host_s=[0.0, 60.0])[0] == pytest.approx([10.0, 62.2])
    # The host saw 13 s: (13 - 1) / 25.6 = 0.47, no wrap. It saw 15 s: 0.55, one.
    assert clock([100, 110], size=256, unit_s=0.1, host_s=[0.0, 13.0])[0] == pytest.approx([10.0, 11.0])
    assert clock([100, 110], size=256, unit_s=0.1, host_s=[0.0, 15.0])[0] == pytest.approx([10.0, 36.6])
    # Never a wrap taken away: the clock leapt 20 s while 0.1 s passed.
    assert clock([0, 200], size=256, unit_s=0.1, host_s=[0.0, 0.1]) == (pytest.approx([0.0, 20.0]), [], 1)


def test_a_leap_forward_counts_once_and_the_clock_goes_on_from_there():
    assert clock([1, 2, 60, 61], host_s=[0, 1, 2, 3]) == ([1.0, 2.0, 60.0, 61.0], [], 1)
    # 5.05 s more than the host's 1 s may be delay; 5.2 s more is not.
    assert clock([0, 6.04], host_s=[0.0, 1.0])[2] == 0
    assert clock([0, 6.2], host_s=[0.0, 1.0])[2] == 1
    # A step of a second or less needs no confirmation, whatever the host's clock did.
    assert clock([0, 1.0], host_s=[0.0, 100.0])[2] == 0
    assert clock([0, 1.1], host_s=[0.0, 100.0])[2] == 1


def test_one_sample_and_none():
    assert clock([7], unit_s=0.5) == ([3.5], [], 0)
    assert clock([]) == ([], [], 0)
    assert sequence([7]) == ([7.0], [], [], (0, 0))
    assert sequence([]) == ([], [], [], (0, 0))


def test_a_repeated_number_is_one_sample_sent_twice():
    assert sequence([4, 5, 5, 6]) == ([4, 5, 5, 6], [], [2], (0, 0))
    assert sequence([254, 255, 255, 0], size=256) == ([254, 255, 255, 256], [], [2], (0, 0))
    # The same number after a restart is another sample.
    assert sequence([0, 0, 1], restarts=[1]) == ([0, 0, 1], [1], [], (0, 0))


def test_numbers_left_out_are_counted_with_the_places():
    # 3, 4 and 8 are missing, in two places.
    assert sequence([1, 2, 5, 6, 7, 9]) == ([1, 2, 5, 6, 7, 9], [], [], (3, 2))
    # Over the wrap: 255 and 0 are missing.
    assert sequence([253, 254, 1, 2], size=256) == ([253, 254, 257, 258], [], [], (2, 1))


def test_a_number_without_a_known_size_that_runs_back_has_begun_again():
    assert sequence([8, 9, 0, 1]) == ([8, 9, 0, 1], [2], [], (0, 0))
    assert sequence([5, 4, 5]) == ([5, 4, 5], [1], [], (0, 0))


def test_a_step_of_more_than_half_the_size_is_a_restart():
    # 128 of 256 forward is a gap of 127; 129 forward is 127 back.
    assert sequence([0, 128], size=256) == ([0, 128], [], [], (127, 1))
    assert sequence([0, 129], size=256) == ([0, 129], [1], [], (0, 0))


def test_wraps_in_a_long_silence_are_counted_by_the_rate():
    # 6 s at 100 Hz are 600 samples, the counter shows 88 more: 88 + 2 * 256 = 600.
    assert sequence([10, 98], size=256, elapsed_s=[6.0], rate_hz=100.0) == ([10, 610], [], [], (599, 1))
    # 2 s are 200 samples, more than a quarter of 256: 200 steps forward is no restart then.
    assert sequence([0, 200], size=256, elapsed_s=[2.0], rate_hz=100.0) == ([0, 200], [], [], (199, 1))
    # 0.6 s are 60 samples, less than a quarter: the counter cannot have gone round.
    assert sequence([0, 200], size=256, elapsed_s=[0.6], rate_hz=100.0)[1] == [1]
    # Never a wrap taken away: 200 forward where 70 are expected.
    assert sequence([0, 200], size=256, elapsed_s=[0.7], rate_hz=100.0)[0] == [0, 200]
    # Without a rate nothing tells how often: the smallest step is taken.
    assert sequence([10, 98], size=256, elapsed_s=[6.0])[0] == [10, 98]


def test_one_damaged_counter_between_two_that_agree():
    def damaged(raw, size=None):
        return np.flatnonzero(isolated_outliers(np.array(raw, dtype=float), size, 10.0)).tolist()

    assert damaged([1, 2, 900, 4, 5]) == [2]
    assert damaged([901, 902, 3, 904, 905]) == [2]
    assert damaged([254, 255, 100, 1, 2], size=256) == [2]
    # Neighbours with one number agree too.
    assert damaged([5, 900, 5]) == damaged([5, 200, 5], size=256) == [1]
    # Steps up to the ordinary one, also none, and both of a true gap, stay.
    assert damaged([1, 11, 21]) == []
    assert damaged([1, 1, 1, 2]) == []
    assert damaged([1, 2, 40, 41]) == []
    # Twice the ordinary step across is still a neighbour; a little more is not.
    assert damaged([0, 900, 20]) == [1]
    assert damaged([0, 900, 21]) == []
    # Neither the first nor the last has two neighbours.
    assert damaged([900, 2, 3]) == damaged([2, 3, 900]) == damaged([1, 900]) == []
