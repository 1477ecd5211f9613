"""The force sensor's reading with nothing on it: from a marked window, or found, never guessed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from feltload.acquisition.recording import Mark
from feltload.acquisition.streams import GYRO_COLUMNS

__all__ = ["Tare", "find_tare"]

BLOCK_S = 0.25
SHORTEST_S = 0.75
"""Shortest hands-off window that is accepted when none was marked."""
SEARCH_S = 10.0
"""How far into the recording a hands-off window is looked for."""
STILL_RAD_S = 0.02
"""Angular rate about its median that still counts as rest on the stop."""
HELD_N = 0.15
"""Slow wander below which a force is taken as hands off, whatever its noise."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Tare:
    """The zero of a force stream.

    Parameters
    ----------
    zero_n : float
        To be subtracted; 0 with source "none".
    u_n : float
        Standard uncertainty of `zero_n`.
    drift_n : float or None
        Zero after minus zero before; None without a zero afterwards.
    window_s : tuple of float or None
        The hands-off window, seconds from the start of the recording.
    source : {"mark", "found", "none"}
    warnings : tuple of str
    """

    zero_n: float
    u_n: float
    drift_n: float | None
    window_s: tuple[float, float] | None
    source: Literal["mark", "found", "none"]
    warnings: tuple[str, ...] = ()


def find_tare(force: pd.DataFrame, inertial: pd.DataFrame | None, marks: Iterable[Mark]) -> Tare:
    """Find the zero of a force stream.

    Parameters
    ----------
    force : DataFrame
        With ``host_s`` and ``force_n``.
    inertial : DataFrame, optional
        Of the moving part; movement in the window speaks against hands off.
    marks : iterable of Mark
        A "tare" mark with an end decides. A "zero-after" mark gives the drift.

    Returns
    -------
    Tare
        With source "none" and a warning where no window can be told from a held load: that load is
        never subtracted.
    """
    marks = tuple(marks)
    time_s = force["host_s"].to_numpy()
    force_n = force["force_n"].to_numpy()
    after = _marked(marks, "zero-after", time_s)
    after_n = None if after is None else _level(time_s, force_n, after)[0]
    marked = _marked(marks, "tare", time_s)
    if marked is not None:
        zero, u = _level(time_s, force_n, marked)
        warnings = _doubts(time_s, force_n, inertial, marked)
        drift = None if after_n is None else after_n - zero
        return Tare(zero, u, drift, marked, "mark", warnings)
    blocks = _blocks(time_s, force_n)
    window = _still_window(blocks, inertial) if blocks is not None else None
    if blocks is None or window is None:
        return _none(blocks, "no hands-off window at the start: the force is not tared")
    doubts = _doubts(time_s, force_n, inertial, window)
    if doubts:
        return _none(blocks, f"{doubts[0]}: the force is not tared")
    zero, u = _level(time_s, force_n, window)
    lowest = float(np.percentile(blocks[1], 2.0))
    allowed = max(2.0, 5.0 * float(np.median(blocks[2])))
    if zero - lowest > allowed:
        return _none(
            blocks,
            f"the force at the start is {zero - lowest:.1f} N above the lowest later on, so something was "
            "held: the force is not tared",
        )
    drift = None if after_n is None else after_n - zero
    said = "the zero was not marked; it was taken from a still stretch at the start, as hands off"
    return Tare(zero, u, drift, window, "found", (said,))


def _none(blocks: tuple[Floats, Floats, Floats] | None, why: str) -> Tare:
    # The zero may be anywhere between 0 and the lowest level seen: rectangular (JCGM 100, 4.3.7).
    lowest = 0.0 if blocks is None else float(np.percentile(blocks[1], 2.0))
    remedy = "record a few seconds hands off at the start and mark them"
    return Tare(0.0, float(abs(lowest) / np.sqrt(3.0)), None, None, "none", (f"{why}; {remedy}",))


def _marked(marks: tuple[Mark, ...], kind: str, time_s: Floats) -> tuple[float, float] | None:
    """First window of a kind that holds at least three samples."""
    for mark in marks:
        if mark.kind == kind and mark.until_s is not None:
            inside = (time_s >= mark.start_s) & (time_s <= mark.until_s)
            if inside.sum() >= 3:
                return mark.start_s, mark.until_s
    return None


def _level(time_s: Floats, force_n: Floats, window: tuple[float, float]) -> tuple[float, float]:
    """Mean and its standard uncertainty from the scatter of block means, which noise of any colour has."""
    inside = (time_s >= window[0]) & (time_s <= window[1])
    values = force_n[inside]
    pieces = [piece.mean() for piece in np.array_split(values, max(2, min(8, values.size // 3)))]
    return float(values.mean()), float(np.std(pieces, ddof=1) / np.sqrt(len(pieces)))


def _blocks(time_s: Floats, force_n: Floats) -> tuple[Floats, Floats, Floats] | None:
    """Start, mean and standard deviation of quarter-second blocks."""
    if time_s.size < 6:
        return None
    number = np.floor((time_s - time_s[0]) / BLOCK_S).astype(np.int64)
    grouped = pd.Series(force_n).groupby(number)
    count = grouped.count()
    keep = count >= 3
    if not keep.any():
        return None
    start = time_s[0] + count.index[keep].to_numpy() * BLOCK_S
    mean, spread = (np.asarray(part[keep], dtype=float) for part in (grouped.mean(), grouped.std()))
    return start, mean, spread


def _still_window(
    blocks: tuple[Floats, Floats, Floats], inertial: pd.DataFrame | None
) -> tuple[float, float] | None:
    """Earliest stretch in which force and rate stay where they are, without the last block's worth."""
    start, mean, spread = blocks
    quiet = spread <= 3.0 * np.percentile(spread, 10.0) + HELD_N
    if inertial is not None and len(inertial):
        moving = _movement(inertial)
        times = inertial["host_s"].to_numpy()
        edges = np.searchsorted(times, np.stack([start, start + BLOCK_S]))
        running = np.concatenate([[0.0], np.cumsum(moving > STILL_RAD_S)])
        quiet &= running[edges[1]] - running[edges[0]] <= 0.1 * (edges[1] - edges[0])
    step = np.abs(np.diff(mean, prepend=mean[0]))
    joined = step <= 3.0 * (np.percentile(spread, 10.0) + HELD_N)
    first = None
    for index in np.flatnonzero(start - start[0] <= SEARCH_S):
        if not quiet[index] or (first is not None and not joined[index]):
            if first is not None and start[index] - start[first] >= SHORTEST_S:
                return float(start[first]), float(start[index]) - BLOCK_S
            first = index if quiet[index] else None
        elif first is None:
            first = index
    last = start[start - start[0] <= SEARCH_S][-1] + BLOCK_S
    if first is not None and last - start[first] >= SHORTEST_S:
        return float(start[first]), float(last) - BLOCK_S
    return None


def _movement(inertial: pd.DataFrame) -> Floats:
    """Size of the angular rate about its value at rest, lightly smoothed."""
    rate = inertial[GYRO_COLUMNS].to_numpy()
    rate = rate - np.median(rate[: max(3, rate.shape[0] // 20)], axis=0)
    smooth = pd.DataFrame(rate).rolling(9, center=True, min_periods=1).mean().to_numpy()
    return np.asarray(np.linalg.norm(smooth, axis=1))


def _doubts(
    time_s: Floats, force_n: Floats, inertial: pd.DataFrame | None, window: tuple[float, float]
) -> tuple[str, ...]:
    """What speaks against hands off in a window."""
    said = []
    if inertial is not None and len(inertial):
        times = inertial["host_s"].to_numpy()
        inside = (times >= window[0]) & (times <= window[1])
        if inside.any() and np.mean(_movement(inertial)[inside] > STILL_RAD_S) > 0.1:
            said.append("the machine moved during the hands-off window")
    values = force_n[(time_s >= window[0]) & (time_s <= window[1])]
    if values.size >= 24:
        # A hand wanders slowly: the means of short pieces scatter more than their noise explains.
        second = np.diff(values, 2)
        noise = float(1.4826 * np.median(np.abs(second - np.median(second))) / np.sqrt(6.0))
        size = max(4, values.size // 12)
        pieces = values[: values.size // size * size].reshape(-1, size).mean(axis=1)
        wander = float(np.std(pieces, ddof=1))
        if wander > HELD_N and wander > 4.0 * noise / np.sqrt(size):
            said.append("the force wanders during the hands-off window as if something were held")
    return tuple(said)
