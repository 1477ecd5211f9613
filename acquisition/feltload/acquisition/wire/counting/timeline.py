"""Clock and numbers of one stream, unwrapped together, and what was lost: the one place that counts it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from feltload.acquisition.wire.counting.arrivals_only import recount, silences_not_caught_up
from feltload.acquisition.wire.counting.counters import (
    accumulated,
    missing_by_clock,
    unwrap_clock,
    unwrap_sequence,
)
from feltload.acquisition.wire.counting.phase import Residues
from feltload.acquisition.wire.counting.short_counters import count_steps
from feltload.acquisition.wire.counting.wraps import recognised_wrap
from feltload.core import Flags, Floats, Indices

__all__ = ["Counter", "Timeline", "count_timeline"]

SHORT_S = 20.0
"""A counter that wraps sooner may wrap while the host is busy; longer stalls break the link."""

STAMPS_ALIKE = 0.3
"""Share of samples with the stamp of the one before from which on a stamp stands for a whole frame."""


@dataclass(frozen=True, eq=False)
class Counter:
    """A clock or a sample number as it stands on the wire.

    Parameters
    ----------
    raw : float array, shape (n,)
    wrap : int or None
        Count after which it starts again, as described.
    unit : float
        Seconds per count of a clock; 1 for numbers.
    """

    raw: Floats
    wrap: int | None
    unit: float = 1.0


@dataclass(frozen=True, eq=False)
class Timeline:
    """Samples of a stream in time.

    Parameters
    ----------
    device_s, seq : float array, shape (n,)
        Seconds of the device's clock and numbers, unwrapped; NaN where there is none. Both begin again at a restart,
        and after a hole of unknown length.
    restarts, repeated : bool array, shape (n,)
        Samples before which the board began again; samples with the number of the one before.
    jumps : int
        Leaps of the clock that the host's does not confirm.
    lost, gaps, uncounted : int
        Samples missing; places where some are; places among them where their number cannot be determined, which are
        not in `lost`.
    longest_gap_s : float
    wraps : mapping of str to int
        Wraps that were not described, by field.
    """

    device_s: Floats
    seq: Floats
    restarts: Flags
    repeated: Flags
    jumps: int = 0
    lost: int = 0
    gaps: int = 0
    uncounted: int = 0
    longest_gap_s: float = 0.0
    wraps: Mapping[str, int] = field(default_factory=dict)


def count_timeline(
    host_s: Floats,
    message: Indices,
    clock: Counter | None,
    numbers: Counter | None,
    *,
    rate_hz: float | None,
    common: bool = False,
) -> Timeline:
    """Unwrap the counters of a stream, and count what is missing.

    Parameters
    ----------
    host_s : float array, shape (n,)
        Arrival times.
    message : int array, shape (n,)
        Message that brought each sample.
    clock, numbers : Counter, optional
    rate_hz : float, optional
        Rate that the description states.
    common : bool
        The clock is that of the host and of all streams: it is taken as it stands.
    """
    count = host_s.size
    none, never = np.full(count, np.nan), np.zeros(count, dtype=bool)
    if count < 2:
        return Timeline(
            none if clock is None else clock.raw * clock.unit,
            none if numbers is None else numbers.raw,
            never,
            never,
        )
    clock, numbers, wraps = _described(clock, numbers, common=common)
    period_s = 1.0 / rate_hz if rate_hz is not None else float(np.ptp(host_s)) / (count - 1)
    if clock is not None and clock.wrap is not None and clock.wrap * clock.unit < SHORT_S:
        found = _with_short_clock(host_s, message, clock, numbers, rate_hz)
    elif clock is not None:
        found = _with_clock(host_s, clock, numbers, rate_hz)
    elif numbers is not None and numbers.wrap is not None and numbers.wrap * period_s < SHORT_S:
        found = _with_short_numbers(host_s, numbers, rate_hz)
    elif numbers is not None:
        found = _with_numbers(host_s, numbers, never, np.diff(host_s), none, rate_hz)
    else:
        found = _with_arrivals(host_s, rate_hz)
    return Timeline(**{**vars(found), "wraps": wraps})


def _described(
    clock: Counter | None, numbers: Counter | None, *, common: bool
) -> tuple[Counter | None, Counter | None, dict[str, int]]:
    """Both counters with the wraps that were recognised where none is described."""
    wraps: dict[str, int] = {}
    if (
        clock is not None
        and clock.wrap is None
        and not common
        and (wrap := recognised_wrap(clock.raw)) is not None
    ):
        clock, wraps["device_time"] = Counter(clock.raw, wrap, clock.unit), wrap
    if numbers is not None and numbers.wrap is None and (wrap := recognised_wrap(numbers.raw)) is not None:
        numbers, wraps["seq"] = Counter(numbers.raw, wrap), wrap
    return clock, numbers, wraps


def _residues(counter: Counter) -> Residues:
    step = np.diff(counter.raw)
    # One that never wraps steps back at a restart only: then by more than any hole is long.
    wrap = float(1 << 32) if counter.wrap is None else float(counter.wrap)
    step[step < 0] += wrap
    return Residues(step * counter.unit, wrap * counter.unit, counter.unit)


def _with_short_clock(
    host_s: Floats, message: Indices, clock: Counter, numbers: Counter | None, rate_hz: float | None
) -> Timeline:
    residues = _residues(clock)
    alike = residues.step == 0.0
    by_frame = bool(np.mean(alike) > STAMPS_ALIKE)
    if numbers is None and by_frame:
        return _with_frame_stamps(host_s, message, clock, alike, rate_hz)
    numbered = None if numbers is None else _residues(numbers)
    counted = count_steps(_ascending(host_s), None if by_frame else residues, numbered, rate_hz)
    begins = np.concatenate([[False], counted.restarts | counted.unknown])
    device_s = accumulated(
        clock.raw * clock.unit, _unwrapped(residues, counted.samples, counted.period_s), begins
    )
    seq = np.full(host_s.size, np.nan)
    if numbers is not None:
        seq = accumulated(numbers.raw, counted.samples, begins)
    return _counted(host_s, device_s, seq, counted.samples, counted.restarts, counted.unknown)


def _with_frame_stamps(
    host_s: Floats, message: Indices, clock: Counter, alike: Flags, rate_hz: float | None
) -> Timeline:
    """Samples of which a whole frame has one stamp: frames are counted."""
    first = np.concatenate([[True], ~(alike & (np.diff(message) == 0))])
    rows = np.flatnonzero(first)
    size = float(np.median(np.diff(rows, append=first.size)))
    whole = _with_short_clock(
        host_s[rows], np.arange(rows.size), Counter(clock.raw[rows], clock.wrap, clock.unit), None,
        None if rate_hz is None else rate_hz / size,
    )  # fmt: skip
    frame = np.cumsum(first) - 1
    device_s = whole.device_s[frame]
    return Timeline(
        **{
            **vars(whole),
            "device_s": device_s,
            "seq": np.full(first.size, np.nan),
            "restarts": np.zeros(first.size, dtype=bool),
            "repeated": np.zeros(first.size, dtype=bool),
            "lost": round(whole.lost * size),
        }
    )


def _with_short_numbers(host_s: Floats, numbers: Counter, rate_hz: float | None) -> Timeline:
    counted = count_steps(_ascending(host_s), None, _residues(numbers), rate_hz)
    begins = np.concatenate([[False], counted.restarts | counted.unknown])
    seq = accumulated(numbers.raw, counted.samples, begins)
    return _counted(
        host_s, np.full(host_s.size, np.nan), seq, counted.samples, counted.restarts, counted.unknown
    )


def _counted(
    host_s: Floats, device_s: Floats, seq: Floats, samples: Floats, restarts: Flags, unknown: Flags
) -> Timeline:
    known = ~(restarts | unknown)
    missing = np.where(known, np.maximum(samples - 1.0, 0.0), 0.0)
    elapsed = np.diff(host_s if np.isnan(device_s[0]) else device_s)
    longest = np.where(known, elapsed, np.where(unknown, np.diff(host_s), 0.0))
    return Timeline(
        device_s,
        seq,
        np.concatenate([[False], restarts]),
        np.concatenate([[False], known & (samples == 0.0)]),
        lost=int(missing.sum()),
        gaps=int(np.count_nonzero(missing)) + int(np.count_nonzero(unknown)),
        uncounted=int(np.count_nonzero(unknown)),
        longest_gap_s=float(longest.max()),
    )


def _unwrapped(clock: Residues, samples: Floats, period_s: float) -> Floats:
    """Steps of a clock whose wraps are told by the samples between."""
    wraps = np.rint((samples * period_s - clock.step) / clock.period)
    return np.asarray(clock.step + clock.period * np.maximum(wraps, 0.0))


def _with_clock(host_s: Floats, clock: Counter, numbers: Counter | None, rate_hz: float | None) -> Timeline:
    unwrapped = unwrap_clock(clock.raw, clock.wrap, clock.unit, host_s)
    elapsed = np.diff(unwrapped.device_s)
    if numbers is not None:
        passed = np.where(unwrapped.restarts[1:], np.diff(host_s), elapsed)
        found = _with_numbers(host_s, numbers, unwrapped.restarts, passed, unwrapped.device_s, rate_hz)
        return Timeline(**{**vars(found), "jumps": unwrapped.jumps})
    missing = missing_by_clock(elapsed, unwrapped.restarts, rate_hz, clock.unit)
    steps = elapsed[~unwrapped.restarts[1:]]
    return Timeline(
        unwrapped.device_s,
        np.full(host_s.size, np.nan),
        unwrapped.restarts,
        np.zeros(host_s.size, dtype=bool),
        jumps=unwrapped.jumps,
        lost=missing.lost,
        gaps=missing.gaps,
        uncounted=missing.uncounted,
        longest_gap_s=float(steps.max()) if steps.size else 0.0,
    )


def _with_numbers(
    host_s: Floats,
    numbers: Counter,
    restarts: Flags,
    elapsed: Floats,
    device_s: Floats,
    rate_hz: float | None,
) -> Timeline:
    counted = unwrap_sequence(numbers.raw, numbers.wrap, restarts, elapsed, rate_hz)
    steps = elapsed[~counted.restarts[1:]]
    return Timeline(
        device_s,
        counted.seq,
        counted.restarts,
        counted.repeated,
        lost=counted.lost,
        gaps=counted.gaps,
        longest_gap_s=float(steps.max()) if steps.size else 0.0,
    )


def _with_arrivals(host_s: Floats, rate_hz: float | None) -> Timeline:
    """Neither clock nor numbers: what the arrivals alone show."""
    arrival_s = _ascending(host_s)
    counted = recount(arrival_s)
    lost, gaps = (counted.lost, counted.gaps) if counted.by_message else (0, 0)
    uncounted = counted.gaps - gaps
    if not counted.lost:
        uncounted = int(np.count_nonzero(silences_not_caught_up(arrival_s, rate_hz)))
    never, none = np.zeros(host_s.size, dtype=bool), np.full(host_s.size, np.nan)
    return Timeline(
        none,
        none,
        never,
        never,
        lost=lost,
        gaps=gaps + uncounted,
        uncounted=uncounted,
        longest_gap_s=float(np.diff(arrival_s).max()),
    )


def _ascending(host_s: Floats) -> Floats:
    return np.maximum.accumulate(host_s)
