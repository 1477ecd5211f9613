"""A clock that wraps often: what its phase says of the number of samples between two."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feltload.core import Flags, Floats

__all__ = ["PhaseFit", "Residues", "about_period"]

PLAIN_SCATTER = 5.0
"""A step off the period by more than this many times its usual scatter is not one sample."""

MOST_OF_PERIOD = 0.45
"""A step this part of a period or of a wrap off is never one sample, whatever the scatter."""

CHANCE_FIT = 0.25
"""Share of wraps that may fit whole samples for the clock's phase to tell a hole's length."""

DRIFT = 3e-5
"""Relative uncertainty of the period over a hole, beside its scatter: a crystal's (common practice, no source)."""

FEWEST_STEPS = 50
"""Steps of which the arrivals tell the period."""

OFF_NOMINAL = 0.1
"""A period of the arrivals within this of the stated one leaves the stated one to choose among wraps."""


@dataclass(frozen=True, eq=False)
class Residues:
    """What a counter says between neighbouring samples: the step, up to whole wraps.

    Attributes
    ----------
    step : float array, shape (n - 1,)
        From 0 to less than `period`; seconds of the clock, or numbers.
    period : float
        Seconds, or numbers, after which the counter starts again.
    tick : float
        Smallest step that it shows.
    """

    step: Floats
    period: float
    tick: float = 1.0


def about_period(arrival_s: Floats, clock: Residues | None, plainly: Floats, rate_hz: float | None) -> float:
    """Seconds from sample to sample, near enough to choose among the wraps of the clock."""
    counted = np.concatenate([[0.0], np.cumsum(plainly)])
    stride = max(1, counted.size // 8)
    run = counted[stride:] - counted[:-stride]
    rise = arrival_s[stride:] - arrival_s[:-stride]
    slopes = rise[run > 0] / run[run > 0]
    seen = float(np.median(slopes)) if slopes.size else 0.0
    stated = seen if rate_hz is None else 1.0 / rate_hz
    # A few steps may all be a stall.
    near = plainly.size < FEWEST_STEPS or abs(seen - stated) <= OFF_NOMINAL * stated
    if clock is not None and clock.period > 4.0 * max(seen, stated):
        # Most steps are of one sample and shorter than a wrap: the clock itself tells.
        return float(np.median(clock.step[plainly == 1.0])) if np.any(plainly == 1.0) else stated
    return stated if near or not seen > 0.0 else seen


@dataclass(frozen=True, eq=False)
class PhaseFit:
    """How well a clock's steps fit whole samples.

    Attributes
    ----------
    step : float array, shape (n - 1,)
        Seconds of the clock between neighbours, up to whole wraps.
    wrap_s, tick_s : float
        Seconds after which it starts again; its smallest step.
    period_s : float
        From sample to sample.
    scatter_s, wander_s : float
        Standard deviations of a step: what each has by itself, and what adds up, per root of a sample.
    """

    step: Floats
    wrap_s: float
    tick_s: float
    period_s: float
    scatter_s: float
    wander_s: float

    @classmethod
    def of(cls, clock: Residues, plainly: Floats, about_s: float) -> PhaseFit:
        fit = cls(clock.step, clock.period, clock.tick, about_s, 0.0, 0.0)
        for _ in range(2):
            off = fit.misfit(plainly)[plainly == 1.0]
            off = off if off.size else fit.misfit(plainly)
            middle = float(np.median(off)) if off.size else 0.0
            scatter = 1.4826 * float(np.median(np.abs(off - middle))) if off.size else 0.0
            # The mean of what is near the middle: ticks are coarser than the period is known.
            near = off[np.abs(off - middle) <= max(PLAIN_SCATTER * scatter, 1.5 * fit.tick_s)]
            middle = float(np.mean(near)) if near.size else middle
            fit = replace(fit, period_s=fit.period_s + middle, scatter_s=max(scatter, 0.3 * fit.tick_s))
        return replace(fit, wander_s=fit._wander(plainly))

    def _wander(self, plainly: Floats) -> float:
        """Part of the scatter that adds up from sample to sample, per root of a sample."""
        length = 64
        off = self.misfit(plainly)
        off = np.where(np.abs(off) <= self.tolerance(1.0), off, 0.0)
        if off.size < 4 * length:
            return 0.0
        summed = np.add.reduceat(off, np.arange(0, off.size - length, length))
        spread = 1.4826 * float(np.median(np.abs(summed - np.median(summed))))
        return float(np.sqrt(max(spread**2 - 4.0 * self.scatter_s**2, 0.0) / length))

    def misfit(self, samples: Floats, at: int | None = None) -> Floats:
        """Seconds by which the clock's step misses a number of samples, up to whole wraps."""
        step = self.step if at is None else self.step[at]
        half = 0.5 * self.wrap_s
        return np.asarray((step - samples * self.period_s + half) % self.wrap_s - half)

    def tolerance(self, samples: Floats | float) -> Floats:
        """Misfit that a true number of samples may have."""
        grown = np.hypot(self.scatter_s, self.wander_s * np.sqrt(samples))
        least = np.maximum(PLAIN_SCATTER * grown, 1.5 * self.tick_s) + DRIFT * self.period_s * samples
        most = MOST_OF_PERIOD * min(self.period_s, self.wrap_s)
        return np.asarray(np.minimum(least, max(most, 1.5 * self.tick_s)))

    def tells_samples(self) -> bool:
        """Whether one sample is told from two."""
        return bool(self.tolerance(1.0) <= MOST_OF_PERIOD * self.period_s)

    def tells_wraps(self) -> bool:
        """Whether a hole with whole wraps in it mostly does not fit whole samples less."""
        wraps = self.wrap_s * np.arange(1.0, 17.0)
        off = np.abs(wraps - self.period_s * np.rint(wraps / self.period_s))
        return bool(np.mean(off <= self.tolerance(1.0)) < CHANCE_FIT)

    def is_plain(self, samples: Floats) -> Flags:
        return np.asarray(np.abs(self.misfit(samples)) <= self.tolerance(samples))
