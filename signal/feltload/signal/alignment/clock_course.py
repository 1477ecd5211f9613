"""Whether two clocks run alike: the lag early in a session against that late in it.

Loggers with clocks of their own, whose files carry no common time, drift apart or jump; one lag for the whole session
then leaves a force that seems to be another's. Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Flags
from feltload.signal.alignment.latency import first_lag
from feltload.signal.regression.fit import fit_at
from feltload.signal.regression.layout import Layout, layout_for
from feltload.signal.regression.rows import Rows

APART_S = 0.03
"""A smaller change of the lag is left to the fit."""

GAIN = 0.7
"""Two lags are believed when they leave less than this share of what the session's one lag leaves."""

FITS_SHARE = 0.03
"""And the force of each third follows the arm by its own lag to this part of its size; of two sessions it does not."""

FEWEST_RUNS = 4
"""Ways that a third of a session has to hold."""


@dataclass(frozen=True)
class LagCourse:
    """Lag of the force in the first and in the last third of a session, in s."""

    early_s: float
    late_s: float


def lag_course(rows: Rows, layout: Layout, lag_s: float) -> LagCourse | None:
    """How the lag changes over a session; None where one lag does as well.

    Parameters
    ----------
    rows : Rows
    layout : Layout
        Of all sessions.
    lag_s : float
        The one lag that was found for the session.
    """
    time_s = rows.aligned.time_s[rows.centre]
    start_s, third_s = float(time_s[0]), float(np.ptp(time_s)) / 3.0
    early, late = time_s < start_s + third_s, time_s > start_s + 2.0 * third_s
    if min(np.unique(rows.run[part]).size for part in (early, late)) < FEWEST_RUNS:
        return None
    alone = layout_for(layout.bases, [rows.aligned.load_kg])
    lags = [first_lag(rows, alone, kept=part, within_runs=True) for part in (early, late)]
    if abs(lags[1] - lags[0]) < APART_S:
        return None

    def left_n(part: Flags, lag: float) -> float:
        return fit_at([rows], alone, [lag], kept=[part], rounds=3).scale_n

    size_n = float(np.percentile(np.abs(rows.aligned.force.value), 95.0))
    own = [left_n(part, lag) for part, lag in zip((early, late), lags, strict=True)]
    if max(own) > FITS_SHARE * size_n:
        return None
    common = sum(left_n(part, lag_s) for part in (early, late))
    return LagCourse(*lags) if sum(own) < GAIN * common else None
