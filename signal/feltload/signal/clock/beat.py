"""Stamps that were taken late, or are coarser than the samples: put back on the beat that the counter shows.

A browser stamps a reading when it hands it over: after a busy moment several come at once. And it may round its clock
to a frame. Both show against the counter, for a sensor keeps its pace.
"""

from __future__ import annotations

import numpy as np
import scipy

from feltload.core import Flags, Floats

REACH_S = 1.0
"""The pace is that of so long before and after."""
OFF_BEAT = 0.4
"""A stamp that departs by this share of a period from its neighbours' pace was not taken with its sample."""
STEADY = 0.85
"""Share of steps near the period that makes a beat; samples taken at will have none."""
HOLE_S = 0.6
"""A longer silence is one: what follows it keeps its own pace."""


def on_the_beat(device_s: Floats, sequence: Floats) -> tuple[Floats, Flags]:
    """Stamps with those off the beat replaced, and which these are.

    Parameters
    ----------
    device_s : ndarray, shape (n,)
        The device's stamps, seconds.
    sequence : ndarray, shape (n,)
        Numbers of the samples.

    Returns
    -------
    stamps : ndarray, shape (n,)
    replaced : ndarray of bool, shape (n,)
    """
    replaced = np.zeros(device_s.size, dtype=bool)
    steps, counts = np.diff(device_s), np.diff(sequence)
    next_to = counts == 1
    if np.count_nonzero(next_to) < 50:
        return device_s, replaced
    within = steps[next_to]
    # The mean, since coarse stamps have no telling median; holes that the counter does not show are left out.
    period_s = float(np.mean(within[within < HOLE_S]))
    tick_s = _step_of(steps)
    coarse = tick_s >= OFF_BEAT * period_s
    near = np.abs(within - period_s) <= max(OFF_BEAT * period_s, 1.01 * tick_s if coarse else 0.0)
    if not period_s > 0.0 or np.mean(near) < STEADY:
        return device_s, replaced
    out = device_s.copy()
    cuts = np.flatnonzero((steps > HOLE_S) | (steps < 0.0) | (counts < 1)) + 1
    width = 2 * round(REACH_S / period_s) + 1
    for start, stop in zip([0, *cuts], [*cuts, device_s.size], strict=True):
        if stop - start < 8:
            continue
        beat = period_s * (sequence[start:stop] - sequence[start])
        off = device_s[start:stop] - beat
        pace = scipy.ndimage.median_filter(
            off, size=min(width, 2 * ((stop - start) // 2) - 1), mode="nearest"
        )
        wrong = np.abs(off - pace) > OFF_BEAT * period_s
        wrong |= coarse
        out[start:stop] = np.where(wrong, beat + pace, device_s[start:stop])
        replaced[start:stop] = wrong
    return np.maximum.accumulate(out) if np.all(steps >= 0.0) else out, replaced


def _step_of(steps: Floats) -> float:
    """Step that stamps are rounded to, such as a frame; zero where they have none that is to be seen."""
    there = steps[steps > 0.0][:2000]
    smallest = float(np.min(there)) if there.size else 0.0
    # Stamps are told to a microsecond or so.
    parts = there / smallest if smallest > 1e-5 else np.array([0.5])
    return smallest if np.all(np.abs(parts - np.round(parts)) < 2e-6 / max(smallest, 1e-5) + 1e-3) else 0.0
