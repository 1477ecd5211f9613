"""What is counted where hardly anything came: the stated rate decides, until there are steps enough to read it."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition.wire.counting.counters import missing_by_clock
from feltload.acquisition.wire.counting.phase import about_period
from feltload.acquisition.wire.counting.timeline import Counter, count_timeline


def missing(elapsed_s, rate_hz):
    elapsed = np.array(elapsed_s)
    found = missing_by_clock(elapsed, np.zeros(elapsed.size + 1, dtype=bool), rate_hz, 1e-6)
    return found.lost, found.gaps


def test_few_steps_are_counted_by_the_stated_rate():
    # Of two steps one is five samples long: the median of them alone is no period.
    assert missing([0.05, 0.05], 100.0) == (8, 2)
    assert missing([0.05, 0.05], None) == (0, 0)


def test_many_steps_are_counted_by_themselves():
    # The board sends at 50 Hz whatever its description says.
    assert missing([0.02] * 50 + [0.06] + [0.02] * 50, 100.0) == (2, 1)


@pytest.mark.parametrize(("samples", "period_s"), [(4, 0.02), (400, 0.01)])
def test_a_stated_rate_far_from_what_many_arrivals_show_is_not_believed(samples, period_s):
    arrival_s = 0.01 * np.arange(samples)
    assert about_period(arrival_s, None, np.ones(samples - 1), 50.0) == pytest.approx(period_s)


def test_one_sample_misses_nothing():
    found = count_timeline(
        np.zeros(1), np.zeros(1, dtype=np.int64), Counter(np.zeros(1), 1 << 32, 1e-6), None, rate_hz=100.0
    )
    assert (found.lost, found.gaps, found.uncounted, found.longest_gap_s) == (0, 0, 0, 0.0)


def test_a_hole_inside_the_last_message_is_not_counted_by_a_clock_that_wraps():
    # 250 Hz in messages of four; the clock of 65.536 ms says where in a round each was taken, not in which.
    number = np.arange(2000.0)
    number[-2:] += 40.0
    message = np.arange(2000) // 4
    arrival_s = 0.016 * (message + 1.0)
    clock = Counter(number * 4000.0 % 65536.0, 65536, 1e-6)
    found = count_timeline(arrival_s, message, clock, None, rate_hz=250.0)
    assert (found.lost, found.gaps, found.uncounted) == (0, 1, 1)
