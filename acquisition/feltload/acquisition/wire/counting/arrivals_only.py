"""Samples lost from a stream that numbers nothing: found by the arrivals, so that counting goes on after them.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from feltload.core import Flags, Floats

__all__ = ["Recount", "recount", "silences_not_caught_up"]

#: Rates are read over stretches this long; at first over so few messages, and from the fastest, which lose nothing.
STRETCH_S = 1.0
FIRST_MESSAGES = 20
FIRST_SHARE = 0.2
#: A message of this many times the usual size came after a stall.
STALLED = 4
FEWEST_MESSAGES = 40
#: A loss must stand out of the delays' scatter by this. Delays are never negative, so what follows is late by a whole
#: message at least; what came before may have been late too, so a little less is asked.
OVER_SCATTER = 3.0
PART = 0.85
#: Share of messages of one size from which on losses are treated as whole messages.
ALIKE = 0.9
PASSES = 5
#: A link that stalled has caught up after this long; messages before a loss that show how late they are.
AHEAD_S = 10.0
BEHIND = 12
FEWEST_AFTER = 4
#: A host that was busy is late for a little longer: this much must follow for a loss to show.
AFTER_STALL_S = 1.0
#: A pause between arrivals that may have lost samples, and the periods that it must last.
SILENCE_S = 0.5
SILENT_PERIODS = 10.0
#: A link that stalled brings at least this share of what it held back within a second.
CAUGHT_UP = 0.5


@dataclass(frozen=True, eq=False)
class Recount:
    """Samples counted by their arrivals.

    Attributes
    ----------
    number : ndarray, shape (n,)
        Number of each sample, with what was lost before it counted in.
    by_message : bool
        Losses are of whole messages of one size, so that the arrivals tell them to the sample; else they tell about how
        many.
    """

    number: Floats
    by_message: bool

    @property
    def lost(self) -> int:
        """Samples counted in. Zero if nothing is lost, or if delays scatter too much to tell."""
        return int(self.number[-1]) + 1 - self.number.size

    @property
    def gaps(self) -> int:
        """Places where samples were counted in."""
        return int(np.count_nonzero(np.diff(self.number) > 1.0))


def recount(arrival_s: Floats) -> Recount:
    """Number of each sample, with what was lost before it counted in.

    Parameters
    ----------
    arrival_s : ndarray, shape (n,)
        Arrival of each sample's message; does not decrease.

    Returns
    -------
    Recount

    Notes
    -----
    Each loss makes all later messages late against the count, for good; a stall of the link does not. So the earliest
    arrival of the next seconds, seen along the true rate, is a staircase whose steps are whole messages.
    """
    count = np.arange(len(arrival_s), dtype=float)
    last = np.flatnonzero(np.diff(arrival_s, append=np.inf) > 0.0)
    if len(last) < FEWEST_MESSAGES:
        return Recount(count, False)
    arrivals, newest = arrival_s[last], count[last]
    sizes = np.diff(last, prepend=-1)
    usual = int(np.median(sizes))
    alike = bool(np.mean(sizes == usual) >= ALIKE)
    unit = usual if alike else 1
    step = float(np.median(np.diff(arrivals)))
    reach = max(BEHIND, round(AHEAD_S / step))
    # While the rate is only rough, the many samples of a message after a stall are late or early by it.
    fresh = np.maximum.accumulate(np.where(sizes > STALLED * usual, np.arange(len(last)), 0))
    slope = _usual_slope(newest, arrivals, FIRST_MESSAGES, FIRST_SHARE)
    rough = _steps(arrivals - slope * newest, unit * slope, reach, fresh)
    if rough is None:
        return Recount(count, alike)
    added, better = np.zeros(len(last)), unit * np.cumsum(rough)
    for _ in range(PASSES):
        slope = _usual_slope(newest + better, arrivals, max(2, round(STRETCH_S / step)), 0.5)
        found = _steps(arrivals - slope * (newest + added), unit * slope, reach, np.zeros_like(fresh))
        if found is None:
            return Recount(count, alike)
        if not np.any(found):
            break
        added = better = added + unit * np.cumsum(found)
    # After a stall it is the end of what was held back that is lost, not whole messages.
    held = np.convolve(sizes > STALLED * usual, np.ones(2 * BEHIND + 1), mode="same") > 0
    steps = np.diff(added, prepend=0.0)
    steps[(held | (not alike)) & (arrivals > arrivals[-1] - AFTER_STALL_S)] = 0.0
    stalled = np.any(held & (steps > 0.0))
    return Recount(count + np.repeat(np.cumsum(steps), sizes), alike and not bool(stalled))


def _usual_slope(counter: Floats, arrivals: Floats, stride: int, share: float) -> float:
    """Seconds per sample over stretches of some messages; losses only make it larger, so a low share finds it first."""
    stride = min(stride, len(counter) // 4)
    slopes = (arrivals[stride:] - arrivals[:-stride]) / (counter[stride:] - counter[:-stride])
    return float(np.quantile(slopes, share))


def _steps(shift: Floats, unit_s: float, reach: int, fresh: NDArray[np.intp]) -> Floats | None:
    """Messages lost before each one, from how late it is against the count; None if delays scatter too much.

    `fresh` says for each message from which one on others may be compared with it.
    """
    # The earliest of each message and of those within reach behind it, and of the few before it.
    ahead = scipy.ndimage.minimum_filter1d(shift, reach, mode="constant", cval=np.inf, origin=-(reach // 2))
    until = scipy.ndimage.minimum_filter1d(
        shift, BEHIND, mode="constant", cval=np.inf, origin=(BEHIND - 1) // 2
    )
    behind = np.concatenate([[np.inf], until[:-1]])
    least = PART * unit_s
    if OVER_SCATTER * float(np.median(shift - ahead)) > least:
        return None
    found = np.zeros(len(shift))
    since = 0
    for at in np.flatnonzero(ahead - behind > least):
        since = max(since, int(fresh[at]))
        # Too few messages follow the last ones to tell a loss from a delay.
        if since == at or at > len(shift) - FEWEST_AFTER:
            continue
        before = float(np.min(shift[max(since, at - BEHIND) : at]))
        if ahead[at] - before > least:
            found[at] = np.rint((ahead[at] - before) / unit_s)
            since = int(at)
    return found


def silences_not_caught_up(arrival_s: Floats, rate_hz: float | None) -> Flags:
    """Steps over pauses after which the samples of the pause did not come: some are lost, and nothing says how many.

    Parameters
    ----------
    arrival_s : ndarray, shape (n,)
        As for `recount`.
    rate_hz : float, optional
        Rate that the description states; without it that of the arrivals.

    Returns
    -------
    ndarray of bool, shape (n - 1,)
    """
    step = np.diff(arrival_s)
    span = float(arrival_s[-1] - arrival_s[0])
    silent = np.zeros(step.size, dtype=bool)
    if not span > 0.0:
        return silent
    rate = rate_hz if rate_hz is not None else step.size / span
    for at in np.flatnonzero(step > max(SILENCE_S, SILENT_PERIODS / rate)):
        came = np.searchsorted(arrival_s, arrival_s[at + 1] + 1.0, side="right") - (at + 1)
        seen_s = min(1.0, float(arrival_s[-1] - arrival_s[at + 1]))
        silent[at] = came - rate * seen_s < CAUGHT_UP * rate * step[at]
    return silent
