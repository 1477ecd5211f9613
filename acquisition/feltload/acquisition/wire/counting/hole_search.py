"""Lengths of the holes in a stream, from how late its messages are before and after each."""

from __future__ import annotations

import numpy as np
import scipy

from feltload.acquisition.wire.counting.phase import PhaseFit, Residues
from feltload.core import Flags, Floats, Indices

__all__ = ["HoleSearch"]

WINDOW_S = 3.0
"""Arrivals this far before and after a hole show its length: longer than a stall that is to be seen through."""

STRETCH_S = 2.0
"""The host's time of a sample is read over stretches this long without a hole."""

FEWEST_STRETCHES = 20
FEW_WHOLE = 0.2

CLOCK_OFF = 0.002
"""A sensor's clock off by less shifts nothing over a window that matters."""

FEWEST_BEFORE = 20
"""Messages that show the line before a hole at least, however long they took."""

BLOCK_S = 0.05
"""Arrivals are looked at in blocks this long where no counter shows a hole."""

OVER_SCATTER = 6.0
"""A length must be told from the next possible one by this many times the scatter of the earliest arrivals."""

LEAST_SCATTER_S = 0.002
"""No link is steadier: the host's scheduler (common practice, no source)."""

MOST_SAMPLES = 2_000_000
"""Lengths looked through for one hole at most."""

MOST_UNSEEN = 1000
"""Holes looked for that no counter shows."""

FEWEST_MESSAGES = 12
"""Messages that show the line on either side of a hole, at least."""

SHORTEST_S = 1.0
"""And this long at least, for a host that was busy is late a little longer."""

LEAST_OF_WRAP = 0.6
"""The arrivals must be late by this part of the shortest hole that no counter shows."""

HELD_BACK = 2.0
"""A message this many times the usual size was held back."""


class HoleSearch:
    """Lengths of the holes, one after the other, from the arrivals before and after each."""

    def __init__(
        self,
        arrival_s: Floats,
        period_s: float,
        fit: PhaseFit | None,
        numbers: Residues | None,
        samples: Floats,
        odd: Flags,
    ) -> None:
        self.samples = samples
        self.unknown = np.zeros(samples.size, dtype=bool)
        self.restarts = np.zeros(samples.size, dtype=bool)
        self._fit, self._numbers, self._period_s = fit, numbers, period_s
        # Only the newest sample of a message may have arrived in time.
        self._last: Indices = np.flatnonzero(np.diff(arrival_s, append=np.inf) > 0.0)
        self._arrival_s = arrival_s[self._last]
        self._sample_arrival_s = arrival_s
        counted = np.concatenate([[0.0], np.cumsum(samples)])[self._last]
        self._slope = self._host_per_sample(counted, odd)
        #: How late each message is along the count, but for a constant.
        self._late_s = self._arrival_s - self._slope * counted
        #: Messages from here on may be compared with later ones: nothing unknown lies between.
        self._joined = 0
        self._scatter_s = self._scatter()

    def _host_per_sample(self, counted: Floats, odd: Flags) -> float:
        """Host's seconds per sample: the arrivals' own where they differ, for the clock may be off."""
        step_s = float(np.median(np.diff(self._arrival_s))) if counted.size > 1 else STRETCH_S
        # Stretches of a number of messages: those of a time would end with late ones more often.
        reach = max(1, round(STRETCH_S / step_s))
        begins = np.arange(max(counted.size - reach, 0))
        if begins.size < FEWEST_STRETCHES:
            return self._period_s
        holes = np.concatenate([[0], np.cumsum(odd)])[self._last]
        whole = holes[begins + reach] == holes[begins]
        # Where hardly any is whole, the holes are short, and counted well enough by the least that the counters say.
        usable = (whole if np.mean(whole) > FEW_WHOLE else True) & (counted[begins + reach] > counted[begins])
        begins = begins[usable]
        run = counted[begins + reach] - counted[begins]
        slopes = (self._arrival_s[begins + reach] - self._arrival_s[begins]) / run / self._period_s
        # Most stretches have no stall at either end.
        seen = float(np.median(slopes))
        u = 1.5 * float(np.median(np.abs(slopes - seen))) / np.sqrt(begins.size / reach)
        return seen * self._period_s if abs(seen - 1.0) > max(CLOCK_OFF, 4.0 * u) else self._period_s

    def _blocks(self) -> tuple[Indices, Floats, Floats, Floats]:
        """Block of each message; earliest arrival of each block, and of the window after and before it."""
        block = ((self._arrival_s - self._arrival_s[0]) / BLOCK_S).astype(np.int64)
        edge = np.full(int(block[-1]) + 1, np.inf)
        np.minimum.at(edge, block, self._late_s)
        reach = round(WINDOW_S / BLOCK_S)
        after = scipy.ndimage.minimum_filter1d(
            edge, reach, mode="constant", cval=np.inf, origin=-(reach // 2)
        )
        before = scipy.ndimage.minimum_filter1d(
            edge, reach, mode="constant", cval=np.inf, origin=(reach - 1) // 2
        )
        return block, edge, after, np.concatenate([[np.inf], before[:-1]])

    def _scatter(self) -> float:
        """How far the earliest arrivals of neighbouring windows usually lie apart."""
        _, _, after, before = self._blocks()
        both = np.isfinite(after) & np.isfinite(before)
        if np.count_nonzero(both) < 10:
            return LEAST_SCATTER_S
        change = after[both] - before[both]
        return max(LEAST_SCATTER_S, 1.4826 * float(np.median(np.abs(change - np.median(change)))))

    def sees(self, length_s: float) -> bool:
        """Whether a hole of this length stands out of the delays by itself."""
        return LEAST_OF_WRAP * length_s > OVER_SCATTER * self._scatter_s

    def settle(self, at: int) -> None:
        """Find the number of samples of one step, and count all later messages on by it."""
        seen = self._seen(at)
        if seen is None:
            # Nothing to compare with: the least that numbers say; a clock alone says too little.
            if self._numbers is None:
                self._part(at, self.unknown)
            return
        fitting = self._fitting(at, *seen)
        if fitting.size == 1:
            self._count(at, float(fitting[0]))
        elif fitting.size == 0 and self._numbers is not None:
            self._part(at, self.restarts)
        else:
            self._part(at, self.unknown)

    def settle_unseen(self) -> None:
        """Holes of whole wraps, which no counter shows: only the arrivals do."""
        for _ in range(MOST_UNSEEN):
            found = self._unseen()
            if found is None:
                return
            before = self.samples[found]
            self.settle(found)
            if self.samples[found] == before and not self.restarts[found]:
                self._part(found, self.unknown)

    def _unseen(self) -> int | None:
        """Step over the longest hole that is left, None if the arrivals show no more."""
        block, edge, after, before = self._blocks()
        reach = round(WINDOW_S / BLOCK_S)
        each = np.bincount(block, minlength=edge.size)
        until = np.cumsum(each)
        behind = until - np.concatenate([np.zeros(min(reach, each.size), int), until])[: each.size]
        ahead = (
            np.concatenate([until, np.full(reach, until[-1])])[reach - 1 : reach - 1 + each.size]
            - until
            + each
        )
        usable = (
            np.isfinite(after) & np.isfinite(before) & (np.minimum(ahead, behind - each) >= FEWEST_MESSAGES)
        )
        ends = round(SHORTEST_S / BLOCK_S)
        usable[:ends] = usable[-ends:] = False
        for at in np.flatnonzero(self.unknown | self.restarts):
            middle = int(block[min(int(np.searchsorted(self._last, at + 1)), block.size - 1)])
            usable[max(middle - reach, 0) : middle + reach] = False
        change = np.zeros(edge.size)
        change[usable] = after[usable] - before[usable]
        high = int(np.argmax(change))
        if change[high] <= max(LEAST_OF_WRAP * self._least_hidden_s(), OVER_SCATTER * self._scatter_s):
            return None
        top = np.flatnonzero(change >= 0.8 * change[high])
        top = top[(top >= high) & (top <= high + reach)]
        first = max(int(np.searchsorted(block, int(top[0]) - 1)), 1)
        last = min(int(np.searchsorted(block, int(top[-1]) + 2)), block.size - 1)
        steps = self.samples[self._last[first - 1] : self._last[last]]
        if steps.size and steps.max() > 2.0:
            # Samples are missing there anyway.
            return int(self._last[first - 1]) + int(np.argmax(steps))
        silent = first + int(np.argmax(np.diff(self._arrival_s[first - 1 : last + 1])))
        # What was held back in a stall comes first, in larger messages than usual; what no longer fitted came after it.
        size = np.diff(self._last, prepend=-1)
        usual = float(np.median(size))
        while silent < last and size[silent] > HELD_BACK * usual:
            silent += 1
        return int(self._last[silent - 1])

    def _least_hidden_s(self) -> float:
        """Shortest hole that the counters do not show."""
        if self._numbers is not None:
            return self._numbers.period * self._period_s
        return self._period_s if self._fit is None else max(self._fit.wrap_s, self._period_s)

    def _seen(self, at: int) -> tuple[float, float] | None:
        """Samples of a step as the arrivals show them, and how far off that may be."""
        message = int(np.searchsorted(self._last, at, side="right"))
        if message <= self._joined or message >= self._last.size:
            return None
        since = int(np.searchsorted(self._arrival_s, self._arrival_s[message] - WINDOW_S))
        since = max(min(since, message - FEWEST_BEFORE), self._joined)
        before = self._late_s[since:message]
        until = np.searchsorted(self._arrival_s, self._arrival_s[message] + WINDOW_S)
        after = self._late_s[message : int(until)]
        shift = float(np.min(after) - np.min(before))
        off_s = OVER_SCATTER * self._scatter_s
        arrived_s = self._arrival_s[message]
        lasted_s = min(self._arrival_s[-1] - arrived_s, arrived_s - self._arrival_s[since])
        if min(after.size, before.size) < FEWEST_MESSAGES or lasted_s < SHORTEST_S:
            # All that is there may be late.
            off_s += abs(shift)
        return self.samples[at] + shift / self._slope, off_s / self._slope + 0.5

    def _fitting(self, at: int, about: float, off: float) -> Floats:
        """Numbers of samples that clock, number and arrivals allow."""
        low, high = max(about - off, 0.0), max(about + off, 0.0)
        if high - low > MOST_SAMPLES:
            return np.array([1.0, 2.0])
        if self._numbers is not None:
            first, wrap = float(self._numbers.step[at]), self._numbers.period
            rounds = np.arange(max(np.ceil((low - first) / wrap), 0.0), np.floor((high - first) / wrap) + 1.0)
            possible = first + wrap * rounds
            if possible.size <= 1 or self._fit is None:
                return np.asarray(possible)
        else:
            possible = np.arange(max(np.ceil(low), 1.0), np.floor(high) + 1.0)
        if self._fit is None:
            return np.asarray(possible)
        return np.asarray(possible[np.abs(self._fit.misfit(possible, at)) <= self._fit.tolerance(possible)])

    def _count(self, at: int, samples: float) -> None:
        if samples == self.samples[at]:
            return
        message = int(np.searchsorted(self._last, at, side="right"))
        self._late_s[message:] -= self._slope * (samples - self.samples[at])
        self.samples[at] = samples

    def _part(self, at: int, why: Flags) -> None:
        """Nothing after this step may be compared with what was before it."""
        why[at] = True
        self._count(at, 1.0)
        self._joined = max(self._joined, int(np.searchsorted(self._last, at, side="right")))
