"""Runs of one-way motion: where the arm rises, where it is lowered, where it rests."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from feltload.core import Flags, Floats, Indices

MOVING_RATE_RAD_S = 0.05
"""Slower than this counts as standing (about 3 degrees per second): friction may then take any value."""

SHORTEST_RUN_S = 0.3
SHORTEST_RUN_RAD = 0.035
REST_S = 0.3


@dataclass(frozen=True)
class Run:
    """Grid samples ``[start, stop)`` that move one way without standing.

    Attributes
    ----------
    start, stop : int
        Sample range.
    direction : int
        +1 raising (concentric), -1 lowering.
    rest_before, rest_after : bool
        Whether the arm stood (or the data ended) just before or after.
    """

    start: int
    stop: int
    direction: int
    rest_before: bool
    rest_after: bool


def moving_rate(rate_rad_s: Floats) -> float:
    """Rate above which the arm counts as moving, lower for very slow sessions."""
    moving = np.abs(rate_rad_s)
    typical = float(np.percentile(moving[moving > 0.01], 75)) if np.any(moving > 0.01) else 0.0
    return float(np.clip(0.25 * typical, 0.012, MOVING_RATE_RAD_S))


def find_runs(time_s: Floats, q_rad: Floats, rate_rad_s: Floats, valid: Flags) -> list[Run]:
    """Split a session into runs of one-way motion.

    Parameters
    ----------
    time_s, q_rad, rate_rad_s : ndarray, shape (n,)
        On a uniform grid.
    valid : ndarray of bool, shape (n,)
        Where the data can be used.

    Returns
    -------
    list of Run
        In time order, those too short or too small left out.
    """
    threshold = moving_rate(rate_rad_s)
    sign = np.where(np.abs(rate_rad_s) > threshold, np.sign(rate_rad_s), 0.0)
    sign[~valid] = 0.0
    edges = np.concatenate([[0], np.flatnonzero(np.diff(sign)) + 1, [sign.size]])
    step = float(time_s[1] - time_s[0])
    rest = max(1, round(REST_S / step))
    runs = []
    for k in range(edges.size - 1):
        start, stop = int(edges[k]), int(edges[k + 1])
        if sign[start] == 0 or (stop - start) * step < SHORTEST_RUN_S:
            continue
        if abs(q_rad[stop - 1] - q_rad[start]) < SHORTEST_RUN_RAD:
            continue
        still_before = k == 0 or (sign[edges[k - 1]] == 0 and edges[k] - edges[k - 1] >= rest)
        still_after = k == edges.size - 2 or (sign[edges[k + 1]] == 0 and edges[k + 2] - edges[k + 1] >= rest)
        runs.append(Run(start, stop, int(sign[start]), bool(still_before), bool(still_after)))
    return runs


def without_trends(run: Indices, q_rad: Floats, values: Floats) -> Floats:
    """Columns less the parabola in the rotation that fits each run best.

    Parameters
    ----------
    run : ndarray of int, shape (r,)
        Which run each row belongs to; rows of one run follow each other.
    q_rad : ndarray, shape (r,)
    values : ndarray, shape (r, k)

    Returns
    -------
    ndarray, shape (r, k)
    """
    out = values.copy()
    for start, stop in pairwise(np.flatnonzero(np.diff(run, prepend=-1, append=-2))):
        q = q_rad[start:stop] - np.mean(q_rad[start:stop])
        trend, _ = np.linalg.qr(np.vander(q, min(3, q.size)))
        out[start:stop] -= trend @ (trend.T @ values[start:stop])
    return out
