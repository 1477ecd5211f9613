"""Which of overlapping candidates are the frames: those that lie end to end with others."""

from __future__ import annotations

from bisect import bisect_right

import numpy as np

from feltload.core import Flags, Floats, Indices

__all__ = ["without_overlaps"]


def without_overlaps(starts: Indices, ends: Indices, weights: Floats) -> Flags:
    """Choose candidates that do not overlap.

    Parameters
    ----------
    starts, ends : int64 arrays, shape (n,)
        Extents, by ascending start.
    weights : float array, shape (n,)
        What speaks for each by itself.

    Returns
    -------
    bool array, shape (n,)
        The choice of the greatest total weight, where a candidate that begins where the one chosen before
        it ends counts half a point more: a sync word that payload happens to hold lies end to end with
        nothing.
    """
    chosen = np.ones(starts.size, dtype=bool)
    latest = np.maximum.accumulate(ends)
    hit = np.flatnonzero(starts[1:] < latest[:-1])
    if not hit.size:
        return chosen
    # Stretches of candidates that overlap each other, each with a neighbour on either side for its chain.
    first = np.maximum(hit - 1, 0)
    last = np.minimum(hit + 3, starts.size)
    opens = np.concatenate([[True], first[1:] > last[:-1]])
    groups = zip(first[opens], np.maximum.reduceat(last, np.flatnonzero(opens)), strict=True)
    for low, high in groups:
        part = slice(int(low), int(high))
        chosen[part] &= _best(starts[part].tolist(), ends[part].tolist(), weights[part].tolist())
    return chosen


def _best(starts: list[int], ends: list[int], weights: list[float]) -> Flags:
    """Weighted interval scheduling with a bonus for intervals end to end."""
    order = sorted(range(len(starts)), key=lambda k: (ends[k], starts[k]))
    total = [0.0] * len(starts)
    before = [-1] * len(starts)
    closed: list[int] = []
    best: list[int] = []
    for k in order:
        place = bisect_right(closed, starts[k]) - 1
        total[k] = weights[k]
        if place >= 0:
            previous = best[place]
            total[k] += total[previous]
            before[k] = previous
            # One that ends exactly here may be worth less, and its chain more.
            while place >= 0 and closed[place] == starts[k]:
                neighbour = order[place]
                if (chained := total[neighbour] + weights[k] + 0.5) > total[k]:
                    total[k], before[k] = chained, neighbour
                place -= 1
        closed.append(ends[k])
        best.append(k if not best or total[k] > total[best[-1]] else best[-1])
    out = np.zeros(len(starts), dtype=bool)
    k = best[-1]
    while k >= 0:
        out[k] = True
        k = before[k]
    return out
