"""Where a device's counter starts again: resets, jumps, and samples lost without a trace in a sequence."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import scipy
from numpy.typing import NDArray

from feltload.core import Flags, Floats

#: Arrivals are looked at in blocks this long; the earliest of each follows the lower edge of the delays.
BLOCK_S = 0.25
#: A shift of the edge that lasts this long is a jump of the counter, not a stall of the link.
LASTING_S = 4.0
#: Stamps may step back inside overlapping batches, by less than the smallest jump and never by more than this.
STEP_BACK_S = 0.1
#: Stretches that show the slope are no shorter, in samples.
SHORTEST_STRIDE = 16


def rough_slope(counter: Floats, arrival_s: Floats) -> float:
    """Host seconds per counter unit, from medians over many stretches: jumps and stalls do not matter."""
    count = len(counter)
    slope = _median_slope(counter, arrival_s, max(1, count // 8))
    if count < 200:
        return slope
    # Again on the earliest arrivals of stretches: batches blur all others.
    shift = arrival_s - slope * counter
    blocks = int(np.clip(count // 50, 4, 200))
    length = count // blocks
    rows = np.arange(blocks) * length + np.argmin(shift[: blocks * length].reshape(blocks, length), axis=1)
    return _median_slope(counter[rows], arrival_s[rows], max(1, blocks // 4))


def _median_slope(counter: Floats, arrival_s: Floats, stride: int) -> float:
    every = max(1, len(counter) // 20_000)
    restarts = np.concatenate([[0], np.cumsum(np.diff(counter) < 0.0)])
    while True:
        rise = arrival_s[stride::every] - arrival_s[:-stride:every]
        run = counter[stride::every] - counter[:-stride:every]
        whole = restarts[stride::every] == restarts[:-stride:every]
        good = (run > 0.0) & (rise > 0.0) & whole
        # A counter that often begins again has no long stretches.
        if stride < SHORTEST_STRIDE or np.count_nonzero(good) >= len(good) // 4:
            return float(np.median(rise[good] / run[good])) if np.any(good) else 1.0
        stride //= 2


def find_pieces(counter: Floats, arrival_s: Floats, slope: float, smallest_jump_s: float) -> list[slice]:
    """Stretches over which one line can lie under the arrivals.

    Parameters
    ----------
    counter, arrival_s : ndarray, shape (n,)
        Finite; arrivals do not decrease.
    slope : float
        Rough host seconds per counter unit.
    smallest_jump_s : float
        Lasting shifts of the edge smaller than this are not looked for.

    Returns
    -------
    list of slice
        In order, covering all samples.
    """
    back = np.flatnonzero(np.diff(counter) * slope < -min(STEP_BACK_S, max(smallest_jump_s, 1e-12))) + 1
    starts = np.concatenate([[0], back]).astype(int)
    stops = np.concatenate([back, [len(counter)]]).astype(int)
    pieces: list[slice] = []
    for start, stop in zip(starts, stops, strict=True):
        cuts = _jumps(arrival_s[start:stop], slope * counter[start:stop], smallest_jump_s)
        edges = [start, *(start + cut for cut in cuts), stop]
        pieces += [slice(a, b) for a, b in pairwise(edges) if b > a]
    return pieces


def stray_stamps(counter: Floats, arrival_s: Floats, slope: float, tolerance_s: float) -> Flags:
    """Single stamps far off their neighbours on both sides: damage, not a reset.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    shift = arrival_s - slope * counter
    stray = np.zeros(len(shift), dtype=bool)
    if len(shift) < 5:
        return stray
    before, here, after = shift[:-2], shift[1:-1], shift[2:]
    agree = np.abs(after - before) < tolerance_s
    stray[1:-1] = agree & (np.abs(here - 0.5 * (before + after)) > 2.0 * tolerance_s)
    return stray


def _jumps(arrival_s: Floats, counted_s: Floats, smallest_jump_s: float) -> list[int]:
    shift = arrival_s - counted_s
    span = arrival_s[-1] - arrival_s[0]
    reach = round(LASTING_S / BLOCK_S)
    count = int(span / BLOCK_S)
    if count <= reach:
        return []
    block = np.minimum(((arrival_s - arrival_s[0]) / BLOCK_S).astype(int), count - 1)
    edge = np.full(count, np.inf)
    np.minimum.at(edge, block, shift)
    # Empty blocks (silence) take no part in a minimum.
    after = scipy.ndimage.minimum_filter1d(edge, reach, mode="constant", cval=np.inf, origin=-(reach // 2))
    before = scipy.ndimage.minimum_filter1d(
        edge, reach, mode="constant", cval=np.inf, origin=reach // 2 - (reach + 1) % 2
    )
    before = np.concatenate([[np.inf], before[:-1]])
    both = np.isfinite(before) & np.isfinite(after)
    # Near the ends too few arrivals are left to show an edge.
    both[: reach // 2] = both[count - reach // 2 :] = False
    change = np.zeros(count)
    change[both] = after[both] - before[both]
    if not np.any(both):
        return []
    # What is common to all is an error of the rough slope, not a jump.
    change[both] -= np.median(change[both])
    quiet = 1.4826 * float(np.median(np.abs(change[both])))
    threshold = max(smallest_jump_s, 8.0 * quiet)
    cuts: list[int] = []
    hot = np.flatnonzero(np.abs(change) > threshold)
    while len(hot):
        group_end = np.flatnonzero(np.diff(hot) > reach)
        group = hot[: int(group_end[0]) + 1] if len(group_end) else hot
        hot = hot[len(group) :]
        cuts += _cut_within(shift, block, group, before, after)
    return sorted(set(cuts))


def _cut_within(
    shift: Floats, block: NDArray[np.intp], group: NDArray[np.intp], before: Floats, after: Floats
) -> list[int]:
    """The sample in a group of blocks where the edge moves.

    Nothing arrives earlier than the edge: after a step up the last arrival clearly under the new edge is the last
    of the old run; after a step down the first one clearly under the old edge is the first of the new run.
    """
    best = int(group[np.argmax(np.abs(after[group] - before[group]))])
    old, new = float(before[best]), float(after[best])
    first = int(np.searchsorted(block, max(int(group[0]) - 1, 0)))
    last = int(np.searchsorted(block, int(group[-1]) + 2))
    early = np.flatnonzero(shift[first:last] < max(old, new) - 0.3 * abs(new - old))
    if not len(early):
        return []
    return [first + int(early[-1]) + 1] if new > old else [first + int(early[0])]
