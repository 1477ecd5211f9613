"""Counters that wrap within a stall of the host: what is lost is exact or said to be unknown, against the truth."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition.wire.counting.timeline import Counter, count_timeline
from feltload.emulator import SentSamples, send_over_stalls

#: Bits and tick in seconds.
CLOCKS = {
    "u8 ms": (8, 1e-3),
    "u8 us": (8, 1e-6),
    "u16 us": (16, 1e-6),
    "u16 ms": (16, 1e-3),
    "u24 us": (24, 1e-6),
}
EVERY_CLOCK = {**CLOCKS, "u32 ms": (32, 1e-3)}


def counted(
    sent: SentSamples,
    clock: str | None = None,
    number_bits: int | None = None,
    *,
    described: bool = True,
    rate_hz=250.0,
):
    clocks = numbers = None
    if clock is not None:
        bits, tick_s = EVERY_CLOCK[clock]
        clocks = Counter(sent.clock % (1 << bits), 1 << bits, tick_s)
    if number_bits is not None:
        wrap = 1 << number_bits
        numbers = Counter((sent.number % wrap).astype(float), wrap)
    message = np.cumsum(np.diff(sent.arrival_s, prepend=-1.0) > 0.0)
    return count_timeline(sent.arrival_s, message, clocks, numbers, rate_hz=rate_hz)


def unwrapped_to(found: np.ndarray, truth: np.ndarray) -> float:
    """Largest difference from the truth, but for where both begin."""
    off = (found - found[0]) - (truth - truth[0])
    return float(np.abs(off).max())


@pytest.mark.parametrize("link", ["usb", "ble"])
@pytest.mark.parametrize("clock", CLOCKS)
def test_stalls_without_a_loss_are_no_loss(clock, link):
    for seed in range(3):
        sent = send_over_stalls(seed, link=link, tick_s=CLOCKS[clock][1])
        found = counted(sent, clock)
        assert sent.stalls >= 2
        assert (found.lost, found.gaps, found.uncounted, int(found.restarts.sum())) == (0, 0, 0, 0)
        assert unwrapped_to(found.device_s, sent.clock * CLOCKS[clock][1]) < 1e-6


@pytest.mark.parametrize("link", ["usb", "ble"])
@pytest.mark.parametrize(
    ("clock", "number_bits"), [("u16 us", 8), ("u8 us", 8), ("u8 ms", 16), (None, 8), ("u24 us", 8)]
)
def test_numbers_that_wrap_in_a_stall_still_tell_every_loss(clock, number_bits, link):
    for seed in range(3):
        sent = send_over_stalls(seed, link=link, buffer=60, dropped=0.01, tick_s=CLOCKS[clock or "u16 us"][1])
        found = counted(sent, clock, number_bits)
        assert sent.lost > 50
        assert (found.lost, found.uncounted, int(found.restarts.sum())) == (sent.lost, 0, 0)
        assert unwrapped_to(found.seq, sent.number) == 0.0
        if clock is not None:
            assert unwrapped_to(found.device_s, sent.clock * CLOCKS[clock][1]) < 1e-6


@pytest.mark.parametrize("link", ["usb", "ble"])
@pytest.mark.parametrize("clock", CLOCKS)
def test_a_clock_alone_tells_losses_exactly_or_says_that_it_cannot(clock, link):
    exact = 0
    for seed in range(6):
        sent = send_over_stalls(seed, link=link, buffer=60, tick_s=CLOCKS[clock][1])
        found = counted(sent, clock)
        assert sent.lost > 50
        if found.uncounted:
            assert found.lost < sent.lost
        else:
            assert found.lost == sent.lost
            exact += 1
    # A clock of 0.26 ms fits several numbers of samples within what a link's delays leave open.
    assert exact >= (0 if clock == "u8 us" else 4)


@pytest.mark.parametrize("wander", [0.0, 2e-4])
@pytest.mark.parametrize("skew", [-0.03, 0.01])
def test_a_sensor_with_a_poor_oscillator(skew, wander):
    for seed in range(3):
        sent = send_over_stalls(seed, skew=skew, buffer=60)
        rng = np.random.default_rng(seed)
        shaken = sent.clock + np.rint(rng.normal(0.0, wander * 1e6, sent.clock.size))
        found = counted(
            SentSamples(sent.true_s, sent.arrival_s, shaken, sent.number, sent.lost, sent.stalls), "u16 us"
        )
        assert found.lost == sent.lost if not found.uncounted else found.lost < sent.lost


def test_the_rate_need_not_be_described():
    sent = send_over_stalls(3, buffer=60)
    assert counted(sent, "u16 us", rate_hz=None).lost == counted(sent, "u16 us").lost == sent.lost
    # 5 % off, as a ceramic resonator's.
    assert counted(sent, "u16 us", rate_hz=262.0).lost == sent.lost


def test_stamps_of_whole_frames():
    # Five samples a frame with the stamp of the first, without interval and number.
    sent = send_over_stalls(4, buffer=60, rate_hz=500.0)
    whole = sent.number // 5
    first = np.concatenate([[True], np.diff(whole) > 0])
    stamped = sent.clock[np.flatnonzero(first)][np.cumsum(first) - 1]
    ends = np.concatenate([np.flatnonzero(first)[1:], [first.size]]) - 1
    arrival = sent.arrival_s[ends][np.cumsum(first) - 1]
    keep = np.isin(whole, [w for w in np.unique(whole) if np.count_nonzero(whole == w) == 5])
    kept = SentSamples(sent.true_s[keep], arrival[keep], stamped[keep], sent.number[keep], 0, 0)
    lost = int(kept.number[-1] - kept.number[0] + 1 - kept.number.size)
    found = counted(kept, "u16 us", rate_hz=500.0)
    assert (found.lost, found.uncounted) == (lost, 0)


def test_a_board_that_begins_again_is_told_from_a_hole():
    sent = send_over_stalls(5)
    at = 3000
    number = np.concatenate([sent.number[:at], sent.number[at:] - sent.number[at]])
    found = counted(SentSamples(sent.true_s, sent.arrival_s, sent.clock, number, 0, 0), "u16 us", 16)
    assert np.flatnonzero(found.restarts).tolist() == [at]
    assert (found.lost, found.uncounted) == (0, 0)


def test_a_stream_that_counts_nothing_is_not_told_of_losses_that_are_none():
    for link in ("usb", "ble"):
        for seed in range(6):
            sent = send_over_stalls(seed, link=link)
            found = counted(sent)
            assert (found.lost, found.gaps, found.uncounted) == (0, 0, 0)


def test_a_stream_that_counts_nothing_says_that_samples_are_missing_and_not_how_many():
    for link in ("usb", "ble"):
        for seed in range(4):
            found = counted(send_over_stalls(seed, link=link, buffer=60))
            assert found.lost == 0
            assert found.uncounted > 0


@pytest.mark.parametrize(("clock", "number_bits"), [("u16 us", None), ("u16 us", 8), (None, 8)])
def test_many_stalls_in_a_long_recording(clock, number_bits):
    """Losses of several per cent do not pass for a slow clock."""
    sent = send_over_stalls(7, rate_hz=500.0, duration_s=200.0, buffer=100, dropped=0.01, stalls=40)
    found = counted(sent, clock, number_bits, rate_hz=500.0)
    assert sent.lost > 2000
    assert (found.lost, found.uncounted, int(found.restarts.sum())) == (sent.lost, 0, 0)


@pytest.mark.parametrize("rate_hz", [416.0, 833.0, 1000.0, 2000.0])
@pytest.mark.parametrize("clock", ["u32 ms", "u8 ms"])
def test_a_clock_that_ticks_once_a_sample_or_less_makes_up_no_loss(clock, rate_hz):
    for seed in range(3):
        found = counted(send_over_stalls(seed, rate_hz=rate_hz, tick_s=1e-3), clock, rate_hz=rate_hz)
        assert (found.lost, found.gaps, found.uncounted) == (0, 0, 0)
    # A hole is seen, and how many samples it had is not said: the clock tells it to a tick.
    sent = send_over_stalls(3, rate_hz=rate_hz, tick_s=1e-3, buffer=60)
    found = counted(sent, clock, rate_hz=rate_hz)
    assert found.gaps >= 1
    assert (found.lost, found.uncounted) == ((sent.lost, 0) if rate_hz < 450.0 else (0, found.gaps))
