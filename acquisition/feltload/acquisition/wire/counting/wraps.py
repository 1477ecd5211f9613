"""Wraps that a description does not state, recognised by how far a counter steps back each time."""

from __future__ import annotations

import numpy as np

from feltload.core import Floats

__all__ = ["recognised_wrap"]

USUAL_WRAPS = (
    *(1 << bits for bits in (8, 10, 12, 16, 20, 24, 32)),
    *(10**power for power in range(2, 10)),
    *(60 * 10**power for power in range(7)),
    *(3600 * 10**power for power in range(7)),
    *(86400 * 10**power for power in range(7)),
)
"""Counts at which counters start again: bits, decimals, minutes, hours, days (common practice, no source)."""

AGREEING = 0.8
"""Share of the steps back that must be of one size; the others may have lost samples."""

CHANCE = 1e-3
"""A size is accepted if restarts would look like it with less than this probability."""


def recognised_wrap(raw: Floats) -> int | None:
    """Count after which a counter starts again at 0, if its steps back show one.

    Parameters
    ----------
    raw : float array, shape (n,)
        As on the wire, in the order of arrival.

    Returns
    -------
    int or None
        None if it never steps back, or if its steps back are restarts or may be.

    Notes
    -----
    Over a wrap it steps back by the wrap less one ordinary step, each time; a restart steps back by how long the
    sensor had been running. By chance a step back lies within the scatter of one of the usual sizes with a probability
    that falls with each further one.
    """
    step = np.diff(raw)
    back = np.flatnonzero(step < 0)
    ahead = step[step > 0]
    if not back.size or not ahead.size or np.any(raw < 0):
        return None
    usual = float(np.median(ahead))
    spread = 1.4826 * float(np.median(np.abs(ahead - usual)))
    tolerance = max(1.5, 5.0 * spread)
    size = usual - step[back]
    wrap = _usual(float(np.median(size)), tolerance)
    if wrap is None or raw.max() >= wrap:
        return None
    agree = int(np.count_nonzero(np.abs(size - wrap) <= tolerance))
    # Over each wrap the count comes near its end and begins near 0.
    chance = min(1.0, 2.0 * tolerance / wrap) ** agree * len(USUAL_WRAPS)
    return wrap if agree >= AGREEING * back.size and chance < CHANCE else None


def _usual(size: float, tolerance: float) -> int | None:
    near = [wrap for wrap in USUAL_WRAPS if abs(wrap - size) <= tolerance]
    return near[0] if len(near) == 1 else None
