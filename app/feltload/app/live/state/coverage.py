"""Which parts of the travel were passed, each way and at each speed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.app.running.enough import Speed
from feltload.app.running.state import Coverage, Pass

PARTS = 24


def coverage_of(passes: Sequence[Pass], widest_rad: float) -> Coverage:
    """Count the passes through the whole of each part of the travel.

    Parameters
    ----------
    passes : sequence of Pass
    widest_rad : float
        The furthest rotation seen, which ends the travel as far as it is known.
    """
    if not passes or widest_rad <= 0.0:
        return Coverage()
    edges = np.linspace(0.0, widest_rad, PARTS + 1)
    counts = {(raising, speed): np.zeros(PARTS, dtype=int) for raising in (True, False) for speed in Speed}
    # A point lies within a part's width of the turn that it stands for.
    slack = 0.25 * edges[1]
    for each in passes:
        low, high = min(each.q_rad), max(each.q_rad)
        counts[each.raising, each.speed] += (edges[:-1] >= low - slack) & (edges[1:] <= high + slack)
    return Coverage(
        edges_rad=tuple(edges.round(5).tolist()),
        raising_slow=tuple(counts[True, Speed.SLOW].tolist()),
        raising_brisk=tuple(counts[True, Speed.BRISK].tolist()),
        lowering_slow=tuple(counts[False, Speed.SLOW].tolist()),
        lowering_brisk=tuple(counts[False, Speed.BRISK].tolist()),
    )
