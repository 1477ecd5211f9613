"""The streaming clock against true times: of a sensor with a clock of its own, and of one without."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.clock.stream import ClockStream


def pushed(host_s, device_s, *, size=5):
    clock = ClockStream()
    parts = [
        clock.push(host_s[start : start + size], device_s[start : start + size])
        for start in range(0, len(host_s), size)
    ]
    return np.concatenate(parts)


@pytest.mark.parametrize("skew", [-100e-6, 0.0, 100e-6])
def test_samples_of_a_clocked_sensor_are_timed_to_milliseconds_though_they_come_late(skew):
    rng = np.random.default_rng(3)
    true_s = np.arange(12_000) / 100.0
    # Bursts of five, some of them very late: as Bluetooth and busy hosts bring them.
    late_s = np.repeat(
        rng.exponential(0.004, true_s.size // 5) + 0.2 * (rng.random(true_s.size // 5) < 0.02), 5
    )
    host_s = np.maximum.accumulate(np.repeat(true_s[4::5], 5) + late_s)
    times = pushed(host_s, true_s * (1.0 + skew) + 77.0)
    assert np.all(np.diff(times) >= 0.0)
    settled = true_s > 5.0
    assert np.abs(np.median(times[settled] - true_s[settled])) < 4e-3
    assert np.percentile(np.abs(times[settled] - true_s[settled]), 95) < 6e-3


def test_a_clock_that_begins_again_is_followed():
    true_s = np.arange(4000) / 100.0
    device_s = np.where(true_s < 20.0, true_s + 500.0, true_s - 20.0)
    times = pushed(true_s + 0.002, device_s)
    assert np.abs(times - true_s).max() < 0.06


def test_samples_without_a_clock_lie_evenly_between_arrivals():
    true_s = np.arange(1, 2001) / 100.0
    host_s = np.repeat(true_s[4::5], 5)
    times = pushed(host_s, np.full(true_s.size, np.nan))
    assert times[5:] == pytest.approx(true_s[5:], abs=1e-9)
