"""Wraps that a description does not state: recognised where nothing else looks like them."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition.wire.counting.timeline import Counter, count_timeline
from feltload.acquisition.wire.counting.wraps import recognised_wrap
from feltload.emulator import send_over_stalls


@pytest.mark.parametrize(
    "wrap", [256, 1000, 65_536, 60_000, 1_000_000, 3_600_000, 86_400_000, 1 << 24, 1 << 32]
)
@pytest.mark.parametrize("scatter", [0.0, 0.002])
def test_usual_wraps_are_recognised(wrap, scatter):
    rng = np.random.default_rng(1)
    step = max(1.0, wrap / 37.3)
    count = 150
    ticks = np.floor(5.0 + np.arange(count) * step + rng.normal(0.0, scatter * step, count))
    assert recognised_wrap(ticks % wrap) == wrap


def test_samples_lost_over_some_wraps_do_not_hide_it():
    ticks = 4000.0 * np.arange(2000)
    kept = np.random.default_rng(2).random(2000) > 0.05
    assert recognised_wrap(ticks[kept] % 65_536) == 65_536


def test_restarts_are_no_wraps():
    rng = np.random.default_rng(3)
    ran = [4.0 * np.arange(int(length)) for length in rng.uniform(200, 20_000, 12)]
    assert recognised_wrap(np.concatenate(ran)) is None
    # One that has run for a second and begins again; one that never does.
    assert recognised_wrap(np.concatenate([np.arange(1000.0), np.arange(500.0)])) is None
    assert recognised_wrap(np.arange(1000.0)) is None
    assert recognised_wrap(np.array([])) is None


def test_a_wrap_of_a_size_that_nobody_uses_is_left_alone():
    assert recognised_wrap((40.0 * np.arange(5000)) % 50_021) is None


def test_a_stream_is_counted_on_over_a_wrap_that_is_not_described():
    sent = send_over_stalls(1)
    found = count_timeline(
        sent.arrival_s,
        np.arange(sent.arrival_s.size),
        Counter(sent.clock % 65_536, None, 1e-6),
        None,
        rate_hz=250.0,
    )
    assert found.wraps == {"device_time": 65_536}
    assert (found.lost, int(found.restarts.sum()), found.uncounted) == (0, 0, 0)
    assert np.ptp(found.device_s) == pytest.approx(np.ptp(sent.true_s), rel=1e-3)


def test_a_number_that_steps_by_one_wraps():
    assert recognised_wrap(np.arange(2000.0) % 256) == 256
