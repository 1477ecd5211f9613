"""Counters that wrap within a stall of the host: wraps counted by the rate and the arrivals together.

A clock that starts again every 65 ms, or a number that does after 256 samples, says little by itself where the
host was busy for a second. What is known beside it: the sensor samples evenly, so the clock's phase fits whole
samples only; and no sample arrives before it was taken, so along the true count the earliest arrivals of any few
seconds lie on one line. A hole shifts that line by its length; a stall without a loss does not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.acquisition.wire.counting.hole_search import HoleSearch
from feltload.acquisition.wire.counting.phase import PhaseFit, Residues, about_period
from feltload.core import Flags, Floats

__all__ = ["Steps", "count_steps"]


@dataclass(frozen=True, eq=False)
class Steps:
    """Samples from each one to the next.

    Attributes
    ----------
    samples : float array, shape (n - 1,)
        1 where none is missing; 0 for a number sent twice. Where it is not known, one.
    unknown : bool array, shape (n - 1,)
        Steps over samples missing in a number that cannot be determined.
    restarts : bool array, shape (n - 1,)
        Steps over which a numbered counter began again.
    period_s : float
        Seconds of the clock, or of the host where there is none, from sample to sample.
    """

    samples: Floats
    unknown: Flags
    restarts: Flags
    period_s: float


def count_steps(
    arrival_s: Floats,
    clock: Residues | None,
    numbers: Residues | None,
    rate_hz: float | None,
) -> Steps:
    """Count the samples between neighbours.

    Parameters
    ----------
    arrival_s : float array, shape (n,)
        When the message of each sample arrived; does not decrease.
    clock, numbers : Residues, optional
        At least one of them.
    rate_hz : float, optional
        Rate that the description states.

    Returns
    -------
    Steps
    """
    count = arrival_s.size - 1
    plainly = np.ones(count) if numbers is None else numbers.step.copy()
    period_s = about_period(arrival_s, clock, plainly, rate_hz)
    fit = PhaseFit.of(clock, plainly, period_s) if clock is not None else None
    if fit is not None:
        period_s = fit.period_s
    odd = np.zeros(count, dtype=bool) if numbers is None else plainly != 1.0
    if fit is not None:
        odd |= ~fit.is_plain(plainly)
        if numbers is None and fit.wrap_s > 1.5 * period_s:
            plainly = np.where(odd, np.maximum(1.0, np.rint(fit.step / period_s)), 1.0)
    search = HoleSearch(arrival_s, period_s, fit, numbers, plainly, odd)
    open_ones = odd
    # Where the clock fits the least number of samples, more are only looked for if the arrivals show them missing.
    if fit is not None and fit.tells_wraps():
        open_ones = odd & ~fit.is_plain(plainly)
    elif fit is not None and fit.tells_samples() and search.sees(fit.wrap_s):
        # It also fits with whole wraps more, so that only a single one lost is taken as such.
        open_ones = odd & ~(fit.is_plain(plainly) & (plainly == 2.0))
    for at in np.flatnonzero(open_ones):
        search.settle(int(at))
    search.settle_unseen()
    return Steps(search.samples, search.unknown, search.restarts, period_s)
