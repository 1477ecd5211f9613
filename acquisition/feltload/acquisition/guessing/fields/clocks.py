"""Counters and clocks among columns: steps, units and where they start again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats

__all__ = ["FoundClock", "find_clock", "is_counter"]

_UNITS = {1e6: "us", 1e3: "ms", 1.0: "s", 1e9: "ns"}
_TICKS = (
    32_768.0, 1e4, 1e5, 1e7, 1024.0, 4096.0, 2000.0, 4000.0, 5000.0, 8000.0, 10_000.0, 20_000.0, 25_000.0, 50_000.0,
    15_625.0, 31_250.0, 62_500.0, 250_000.0, 500_000.0, 2e6, 4e6, 8e6, 16e6, 24e6, 48e6, 72e6, 80e6, 100.0, 128.0,
    200.0, 256.0, 512.0, 500.0, 44_100.0, 48_000.0, 40_000.0, 39_062.5,
)  # fmt: skip
"""Rates that timers are commonly set to, in Hz; common practice, no source."""

_UNIT_TOLERANCE = 0.03
"""A cheap clock is off by less, and so is the host's time of a few seconds."""


@dataclass(frozen=True)
class FoundClock:
    """A clock.

    Parameters
    ----------
    unit : str
    scale : float
        Of a count, in `unit`.
    known_rate : bool
        Its counts per second are a usual number; else they were measured against the host's clock.
    ticks_hz : float
        Counts per second, measured.
    wrap : int or None
        Where it starts again, seen; None where it did not while listening.
    """

    unit: str
    scale: float
    known_rate: bool
    ticks_hz: float
    wrap: int | None


def is_counter(values: Floats, size: int | None) -> bool:
    """Whether values go up by one, wraps and some losses allowed.

    Parameters
    ----------
    values : float array, shape (n,)
    size : int or None
        Where the type on the wire starts again.
    """
    steps = np.diff(values)
    if size is not None:
        steps = np.mod(steps, size)
    return steps.size >= 8 and bool((steps == 1.0).mean() > 0.9)


def find_clock(values: Floats, host_s: Floats, size: int | None) -> FoundClock | None:
    """Find out whether values are a clock.

    Parameters
    ----------
    values : float array, shape (n,)
        As on the wire.
    host_s : float array, shape (n,)
        Arrival of each.
    size : int or None
        Where the type on the wire starts again.
    """
    if values.size < 10 or host_s[-1] <= host_s[0]:
        return None
    raw = np.diff(values)
    ahead = raw[raw > 0]
    if ahead.size < 0.5 * raw.size:
        return None
    step = float(np.median(ahead))
    wrap = _seen_wrap(values, raw, step, size)
    modulus = wrap or size
    steps = np.mod(raw, modulus) if modulus is not None else raw
    # A clock goes on evenly, but for frames that were lost.
    even = np.abs(steps - step) <= 0.5 * step + 1.0
    if step <= 0 or even.mean() < 0.9 or np.any(steps < 0):
        return None
    ticks_hz = _ticks_hz(np.concatenate([[0.0], np.cumsum(steps)]), host_s)
    if ticks_hz is None:
        return None
    # Faster than any timer of a board, or a few steps that any reading may make.
    if ticks_hz > 2e9 or ticks_hz * (host_s[-1] - host_s[0]) < 20.0:
        return None
    for rate, unit in _UNITS.items():
        if abs(ticks_hz / rate - 1.0) < _UNIT_TOLERANCE:
            return FoundClock(unit, 1.0, True, ticks_hz, wrap)
    nearest = min(_TICKS, key=lambda rate: abs(ticks_hz / rate - 1.0))
    if abs(ticks_hz / nearest - 1.0) < 0.005:
        return FoundClock("s", 1.0 / nearest, True, ticks_hz, wrap)
    return FoundClock("s", 1.0 / ticks_hz, False, ticks_hz, wrap)


def _ticks_hz(counts: Floats, host_s: Floats) -> float | None:
    """Counts per second of the host: the median over samples half the time apart.

    What a port held before it was opened arrives at once, and would make the clock fast.
    """
    half = counts.size // 2
    passed = host_s[half:] - host_s[: host_s.size - half]
    apart = counts[half:] - counts[: counts.size - half]
    return float(np.median(apart[passed > 0] / passed[passed > 0])) if np.any(passed > 0) else None


def _seen_wrap(values: Floats, raw: Floats, step: float, size: int | None) -> int | None:
    """Where the clock starts again, by the places where it did."""
    back = np.flatnonzero(raw < -10.0 * step)
    if not back.size:
        return None
    sizes = values[back] - values[back + 1] + step
    middle = float(np.median(sizes))
    agree = np.abs(sizes - middle) <= 2.0 * step + 2.0
    if agree.mean() < 0.8:
        return None
    if size is not None and abs(middle - size) <= 2.0 * step + 2.0:
        return size
    jitter = 2.0 * float(np.median(np.abs(raw[raw > 0] - step))) + 2.0
    return _roundest(middle, jitter, at_least=int(values.max()) + 1)


def _roundest(middle: float, tolerance: float, *, at_least: int) -> int:
    """The number that a person would have chosen near another: a power of two, or one that ends in most zeros."""
    power = 1 << round(float(np.log2(middle)))
    if abs(power - middle) <= tolerance and power >= at_least:
        return power
    for zeros in range(12, -1, -1):
        number = round(middle / 10**zeros) * 10**zeros
        if number > 0 and abs(number - middle) <= tolerance and number >= at_least:
            return int(number)
    return max(round(middle), at_least)
