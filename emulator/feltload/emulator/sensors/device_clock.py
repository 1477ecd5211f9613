"""Device clocks and the way to the host: sampling instants, time stamps, arrivals, losses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from feltload.core import Flags, Floats, Indices
from feltload.emulator.sensors.sensor_class import Transport


@dataclass(frozen=True)
class DeviceSamples:
    """What one device measured, and when the host got it.

    Attributes
    ----------
    sample_s : (n,) array
        True instants of sampling.
    device_us : (n,) int array
        The device's own clock, not wrapped.
    words : (n,) or (n, 6) int array
        What it sends: converter counts, or gyroscope and accelerometer words.
    arrival_s : (n,) array
        Host time at which the message arrived.
    kept : (n,) bool array
        False where the message was lost.
    """

    sample_s: Floats
    device_us: Indices
    words: Indices
    arrival_s: Floats
    kept: Flags


@dataclass(frozen=True)
class DeviceClock:
    """A counter of microseconds with its own start and rate: reading = offset + (1 + skew) t."""

    offset_s: float
    skew: float

    def read_us(self, time_s: Floats) -> Indices:
        """Whole microseconds shown at true times, not wrapped."""
        return np.rint((self.offset_s + (1.0 + self.skew) * time_s) * 1e6).astype(np.int64)


def draw_clock(skew_sd: float, rng: Generator) -> DeviceClock:
    """A device that was switched on up to an hour ago."""
    return DeviceClock(float(rng.uniform(1.0, 3600.0)), float(rng.normal(0.0, skew_sd)))


def sample_instants(rate_hz: float, duration_s: float, rng: Generator) -> Floats:
    """True times at which a device samples, with the few microseconds that its interrupt wanders, (n,) s."""
    count = int((duration_s - 0.02) * rate_hz)
    phase = rng.uniform(0.0, 1.0 / rate_hz)
    wander = rng.normal(0.0, 3e-6, count)
    return np.maximum(0.0, phase + np.arange(count) / rate_hz + wander)


def arrivals(sample_s: Floats, transport: Transport, rng: Generator) -> tuple[Floats, Flags]:
    """Host time at which each sample's message arrived, and which samples arrived at all, each (n,)."""
    count = sample_s.size
    message = np.arange(count) // transport.batch
    last = np.minimum((np.arange(message[-1] + 1) + 1) * transport.batch - 1, count - 1)
    size = last.size
    delay = transport.floor_s + rng.exponential(transport.jitter_s, size)
    stalled = rng.random(size) < transport.stall_share
    delay = delay + stalled * rng.uniform(0.0, transport.stall_s, size)
    arrived = np.maximum.accumulate(sample_s[last] + delay)
    kept = rng.random(size) >= transport.drop_share
    return arrived[message], kept[message]
