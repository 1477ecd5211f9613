"""Stamps that were taken late or are coarse, against the true times of an emulated phone's events."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.clock.beat import on_the_beat

RATE_HZ = 60.0


def taken(seed: int, seconds: float = 40.0, rate_hz: float = RATE_HZ) -> np.ndarray:
    """True times of events with the jitter of a browser's timer."""
    rng = np.random.default_rng(seed)
    count = int(seconds * rate_hz)
    return np.sort(np.arange(count) / rate_hz + np.abs(rng.normal(0.0, 0.001, count)))


def off_ms(stamps: np.ndarray, true_s: np.ndarray) -> np.ndarray:
    """Error of each stamp less the constant that nobody can know."""
    error = stamps - true_s
    return np.asarray(1e3 * np.abs(error - np.median(error)))


@pytest.mark.parametrize("seed", range(4))
def test_events_that_a_busy_page_handed_over_together_get_their_times_back(seed: int) -> None:
    true_s = taken(seed)
    stamps = true_s.copy()
    for begins_s in np.random.default_rng(seed).uniform(2.0, 38.0, 5):
        held = np.flatnonzero((true_s >= begins_s) & (true_s < begins_s + 0.15))
        stamps[held] = begins_s + 0.15 + 1e-4 * np.arange(held.size)
    stamps = np.maximum.accumulate(stamps)
    assert off_ms(stamps, true_s).max() > 100.0
    out, replaced = on_the_beat(stamps, np.arange(true_s.size, dtype=float))
    assert off_ms(out, true_s).max() < 10.0
    assert 10 < np.count_nonzero(replaced) < 60
    assert np.all(np.diff(out) >= 0.0)


def test_stamps_rounded_to_a_frame_are_made_finer() -> None:
    true_s = taken(5, rate_hz=58.7)
    stamps = np.floor(true_s * 60.0) / 60.0
    out, replaced = on_the_beat(stamps, np.arange(true_s.size, dtype=float))
    assert replaced.all()
    assert np.std(out - true_s) < 0.6 * np.std(stamps - true_s)


def test_a_locked_screen_stays_a_hole() -> None:
    true_s = taken(6)
    true_s = true_s[(true_s < 15.0) | (true_s > 22.0)]
    # A page counts what it gets: nothing but its clock shows the hole.
    out, replaced = on_the_beat(true_s, np.arange(true_s.size, dtype=float))
    assert not replaced.any()
    assert np.array_equal(out, true_s)


def test_samples_taken_at_will_and_fine_stamps_are_left_alone() -> None:
    at_will = np.cumsum(np.random.default_rng(7).exponential(1.0 / RATE_HZ, 2000))
    for stamps in (at_will, taken(8)):
        assert not on_the_beat(stamps, np.arange(stamps.size, dtype=float))[1].any()
