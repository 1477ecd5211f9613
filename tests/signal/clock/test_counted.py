"""Streams without clock and numbers: what is lost on the way shows in the arrivals. Truth made here."""

import numpy as np
import pytest

from feltload.acquisition import recount
from feltload.signal.clock.joining import join_clock


def link(rng, *, seconds=60.0, rate_hz=100.0, batch=10, jitter_s=0.002, lost=0.0):
    """True times of the samples that came through and the arrivals of their messages."""
    count = int(seconds * rate_hz) // batch * batch
    true_s = 5.0 + np.arange(count) / rate_hz
    arrival = np.maximum.accumulate(
        true_s[batch - 1 :: batch] + 0.004 + rng.exponential(jitter_s, count // batch)
    )
    kept = np.repeat(rng.random(count // batch) >= lost, batch)
    return true_s[kept], np.repeat(arrival, batch)[kept]


@pytest.mark.parametrize(("batch", "rate_hz"), [(10, 100.0), (5, 100.0), (16, 833.0), (4, 40.0)])
@pytest.mark.parametrize("lost", [0.0, 0.01, 0.05])
def test_times_stay_true_through_lost_messages(batch, rate_hz, lost):
    for seed in range(4):
        rng = np.random.default_rng(seed)
        true_s, arrival = link(rng, batch=batch, rate_hz=rate_hz, lost=lost)
        fit = join_clock(arrival, rate_hz=rate_hz * 1.01)
        error = fit.time_s - true_s - np.mean(fit.time_s - true_s)
        # The last messages are too few to tell a loss among them from a delay.
        assert np.abs(error[: -6 * batch]).max() < 2e-4
        missing = round((true_s[-1] - true_s[0]) * rate_hz) + 1 - len(true_s)
        counted = recount(arrival)
        assert counted.by_message
        # Only those after the last message that can be told from a delay are left out.
        assert 0 <= missing - counted.lost <= 4 * batch


def test_single_samples_of_a_line_based_sensor():
    for seed in range(4):
        rng = np.random.default_rng(seed)
        true_s, arrival = link(rng, batch=1, jitter_s=0.0008, lost=0.01)
        fit = join_clock(arrival, rate_hz=100.0)
        assert np.std(fit.time_s - true_s) < 0.001


def test_stalls_bursts_and_slow_draining_are_no_losses():
    rng = np.random.default_rng(3)
    true_s, arrival = link(rng)
    stalled = arrival.copy()
    stalled[true_s < 6.5] = 6.5
    stalled[(true_s > 20.0) & (true_s < 23.0)] = 23.1
    drained = np.where((true_s > 40.0) & (true_s < 46.0), 44.0 + (arrival - 40.0) / 3.0, 0.0)
    arrivals = np.maximum.accumulate(np.maximum(stalled, drained))
    assert recount(arrivals).lost == 0
    fit = join_clock(arrivals)
    assert np.std(fit.time_s - true_s) < 0.001


def test_delays_that_hide_a_sample_are_left_alone_and_the_doubt_is_stated():
    rng = np.random.default_rng(4)
    true_s, arrival = link(rng, batch=1, rate_hz=833.0, seconds=30.0, jitter_s=0.003, lost=0.001)
    counted = recount(arrival)
    assert counted.lost == 0
    np.testing.assert_array_equal(counted.number, np.arange(len(arrival)))
    fit = join_clock(arrival)
    error = fit.time_s - true_s - np.median(fit.time_s - true_s)
    assert np.sqrt(np.mean(error**2)) < 2.0 * np.sqrt(np.mean(fit.u_s**2))
