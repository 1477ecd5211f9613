"""A force sensor at the end of its range: samples that say only that the force was at least this."""

from __future__ import annotations

import numpy as np

from feltload.core import Flags, Floats

FEWEST = 12
"""Samples at an extreme that a range limit leaves at least."""

NEXT_SHARE = 0.02
"""Part of the range below the extreme that a force not cut off visits as well."""

PILE = 2.0
"""Samples at the extreme over those in that part from which the extreme is a limit."""

DISTINCT = 100
"""With fewer different readings than this the resolution is too coarse to tell."""


def at_limit(force_n: Floats) -> Flags:
    """Samples at a limit of the sensor or its amplifier, shape (n,).

    A force that is not cut off comes near its extreme more often than it hits it exactly.

    Parameters
    ----------
    force_n : ndarray, shape (n,)
        As sampled; NaN where missing.
    """
    flags = np.zeros(force_n.size, dtype=bool)
    seen = force_n[np.isfinite(force_n)]
    if np.unique(seen).size < DISTINCT:
        return flags
    low, high = float(np.min(seen)), float(np.max(seen))
    near = NEXT_SHARE * (high - low)
    for extreme, beside in (
        (high, (seen >= high - near) & (seen < high)),
        (low, (seen <= low + near) & (seen > low)),
    ):
        at = force_n == extreme
        if np.count_nonzero(at) >= FEWEST and np.count_nonzero(at) > PILE * np.count_nonzero(beside):
            flags |= at
    return flags
