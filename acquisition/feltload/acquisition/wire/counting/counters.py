"""Sequence numbers and device clocks that wrap more seldom than a host stalls, restart and jump.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Flags, Floats, Indices

__all__ = [
    "Clock",
    "Missing",
    "Sequence",
    "accumulated",
    "isolated_outliers",
    "missing_by_clock",
    "unwrap_clock",
    "unwrap_sequence",
]

ORDINARY_STEP_S = 1.0
"""A step of a device clock up to this long needs no confirmation by the host's clock."""

HOST_DISAGREEMENT_S = 5.0
"""By how much a longer step may disagree with the host's clock before it is a jump."""


LATE_PERIODS = 0.75
"""A step so much longer than the samples in it has lost one."""

COARSE_TICK = 0.45
"""A clock whose tick is longer than this part of a sample does not tell samples one by one."""

FEWEST_STEPS = 8
"""Steps that tell the period better than the description does."""


@dataclass(frozen=True, eq=False)
class Clock:
    """An unwrapped device clock.

    Parameters
    ----------
    device_s : float array, shape (n,)
        Seconds of the device's clock; begins again at a restart.
    restarts : bool array, shape (n,)
        Samples before which the clock began again.
    jumps : int
        Leaps forward that the host's clock does not confirm.
    """

    device_s: Floats
    restarts: Flags
    jumps: int


@dataclass(frozen=True, eq=False)
class Sequence:
    """An unwrapped sequence counter.

    Parameters
    ----------
    seq : float array, shape (n,)
        Whole numbers; begins again at a restart.
    restarts, repeated : bool array, shape (n,)
        Samples before which the counter began again; samples with the number of the one before.
    lost : int
        Numbers left out.
    gaps : int
        Places where they were left out.
    """

    seq: Floats
    restarts: Flags
    repeated: Flags
    lost: int
    gaps: int


def _forward(raw: Floats, size: int | None) -> Floats:
    step = np.diff(raw)
    if size is not None:
        step[step < 0] += size
    return step


def isolated_outliers(raw: Floats, size: int | None, ordinary: float) -> Flags:
    """Samples whose counter agrees with neither neighbour while the neighbours agree.

    A damaged frame that slipped past its checksum shows like this.
    """
    out = np.zeros(raw.size, dtype=bool)
    if raw.size < 3:
        return out
    step = _forward(raw, size)
    odd = (step < 0) | (step > ordinary)
    if not odd.any():
        return out
    middle = np.flatnonzero(odd[:-1] & odd[1:]) + 1
    across = raw[middle + 1] - raw[middle - 1]
    if size is not None:
        across[across < 0] += size
    out[middle[(across >= 0) & (across <= 2 * ordinary)]] = True
    return out


def unwrap_clock(raw: Floats, size: int | None, unit_s: float, host_s: Floats) -> Clock:
    """Unwrap a device clock.

    Parameters
    ----------
    raw : float array, shape (n,)
        Clock values on the wire.
    size : int, optional
        Count after which it starts at 0 again.
    unit_s : float
        Seconds per count.
    host_s : float array, shape (n,)
        Arrival times, which tell a wrap from a restart.
    """
    n = raw.size
    restarts = np.zeros(n, dtype=bool)
    if n < 2:
        return Clock(raw * unit_s, restarts, 0)
    step = _forward(raw, size) * unit_s
    host = np.diff(host_s)
    if size is not None:
        period = size * unit_s
        # A silence of several periods hides whole wraps.
        step += period * np.maximum(0.0, np.round((host - step) / period))
    backward = np.diff(raw) < 0
    strange = (step > ORDINARY_STEP_S) & (np.abs(step - host) > HOST_DISAGREEMENT_S + 0.05 * np.abs(host))
    restart = backward & (strange if size is not None else True)
    restarts[1:] = restart
    jumps = int((strange & ~restart).sum())
    return Clock(accumulated(raw * unit_s, step, restarts), restarts, jumps)


def unwrap_sequence(
    raw: Floats, size: int | None, restarts: Flags, elapsed_s: Floats, rate_hz: float | None
) -> Sequence:
    """Unwrap a sequence counter.

    Parameters
    ----------
    raw : float array, shape (n,)
    size : int, optional
        Count after which it starts at 0 again.
    restarts : bool array, shape (n,)
        Samples before which the device's clock began again, so the counter did too.
    elapsed_s : float array, shape (n - 1,)
        Time between neighbouring samples.
    rate_hz : float, optional
        Expected rate; tells how often the counter wrapped in a long silence.
    """
    n = raw.size
    repeated = np.zeros(n, dtype=bool)
    if n < 2:
        return Sequence(raw.copy(), restarts.copy(), repeated, 0, 0)
    step = _forward(raw, size)
    again = restarts.copy()
    if size is None:
        again[1:] |= step < 0
    else:
        far = step > size / 2
        if rate_hz is not None:
            expected = elapsed_s * rate_hz
            long = expected > size / 4
            step = np.where(long, step + size * np.maximum(0.0, np.round((expected - step) / size)), step)
            far &= ~long
        again[1:] |= far
    repeated[1:] = (step == 0) & ~again[1:]
    missing = np.where(again[1:], 0.0, np.maximum(step - 1.0, 0.0))
    return Sequence(
        accumulated(raw, step, again), again, repeated, int(missing.sum()), int((missing > 0).sum())
    )


def accumulated(raw: Floats, step: Floats, restarts: Flags) -> Floats:
    """Sum the steps; at a restart begin at the raw value."""
    inside = np.where(restarts[1:], 0.0, step)
    total = np.concatenate([[0.0], np.cumsum(inside)])
    begins = np.flatnonzero(restarts)
    begins = np.concatenate([[0], begins])
    lengths = np.diff(np.concatenate([begins, [raw.size]]))
    return np.asarray(total + np.repeat(raw[begins] - total[begins], lengths))


@dataclass(frozen=True)
class Missing:
    """Samples that a clock shows to be missing.

    Parameters
    ----------
    lost, gaps : int
        Samples, and places where some are missing.
    uncounted : int
        Places among them where the clock ticks too coarsely to say how many.
    """

    lost: int = 0
    gaps: int = 0
    uncounted: int = 0


def missing_by_clock(elapsed: Floats, restarts: Flags, rate_hz: float | None, tick_s: float) -> Missing:
    """Samples lost by a clock that does not wrap unseen; several samples may have one stamp.

    Parameters
    ----------
    elapsed : float array, shape (n - 1,)
        Seconds of the clock between neighbours.
    restarts : bool array, shape (n,)
    rate_hz : float, optional
        Rate that the description states.
    tick_s : float
        Seconds per count of the clock.
    """
    begins = np.flatnonzero((elapsed != 0.0) | restarts[1:]) + 1
    edges = np.concatenate([[0], begins])
    samples = np.diff(edges)
    passed, inside = elapsed[begins - 1], ~restarts[begins]
    # What restarted says nothing of the time before it.
    passed, samples = passed[inside], samples[inside]
    if not passed.size:
        return Missing()
    period = (
        1.0 / rate_hz
        if rate_hz is not None and passed.size < FEWEST_STEPS
        else _period(passed, samples, tick_s)
    )
    if not period > 0.0:
        return Missing()
    coarse = tick_s > COARSE_TICK * period
    # A tick shortens a step over a loss, and lengthens one without.
    allowed_s = tick_s if coarse else -float(np.clip(tick_s - 0.15 * period, 0.0, 0.25 * period))
    wide = passed > (samples + LATE_PERIODS) * period + allowed_s
    gaps = int(np.count_nonzero(wide))
    if coarse:
        return Missing(gaps=gaps, uncounted=gaps)
    return Missing(int(np.rint(passed[wide] / period - samples[wide]).sum()), gaps)


def _period(passed: Floats, samples: Indices, tick_s: float) -> float:
    """Seconds per sample where most steps have no hole, from steps of any number of samples."""
    period = float(np.median(passed / samples))
    near = passed < 1.5 * samples * period + tick_s
    # Coarse ticks make neighbours too long and too short: the mean over all of them is right.
    return float(passed[near].sum() / samples[near].sum()) if period > 0.0 else 0.0
