"""Where the travel begins when no rest on the start stop shows it, and how well that is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feltload.core import Floats, runs_of_true
from feltload.signal.movement.grid import Aligned

ABOVE_RAD = np.radians(0.3)
"""A stop gives by less than this."""

END_QUANTILE = 0.002
"""Share of the samples that lies beyond the end of the travel: their noise."""

VISIT_SHARE = 0.15
"""Part of the travel at its end that counts as a visit to it."""

LEAST_U_RAD = np.radians(0.1)
"""No end is known better: noise, and a stop that gives."""

LONE_U_RAD = np.radians(1.0)
"""Standard uncertainty of an end that was visited once: nothing shows that the arm reached the stop."""


def lower_end(q_rad: Floats) -> tuple[float, float]:
    """Lower end of the travel, rad, and its standard uncertainty from how far apart the visits to it turn.

    Parameters
    ----------
    q_rad : ndarray, shape (n,)
        Rotation in time order.
    """
    low, high = (float(end) for end in np.quantile(q_rad, (END_QUANTILE, 1.0 - END_QUANTILE)))
    visits = [float(np.min(q_rad[a:b])) for a, b in runs_of_true(q_rad < low + VISIT_SHARE * (high - low))]
    spread = float(np.std(visits, ddof=1)) if len(visits) > 1 else LONE_U_RAD
    return low, max(spread, LEAST_U_RAD)


def above_lower_end(aligned: Aligned) -> bool:
    """Whether the rotation is counted from a place clearly above the lower end of the travel."""
    return bool(lower_end(aligned.q_rad[aligned.moving_valid])[0] < -ABOVE_RAD)


def counted_from_lower_end(aligned: Aligned) -> Aligned:
    """The session with its rotation counted from the lower end of the travel, and with that end's uncertainty."""
    low, u = lower_end(aligned.q_rad[aligned.moving_valid])
    return replace(
        aligned,
        q_rad=aligned.q_rad - low,
        u_q_rad=np.hypot(aligned.u_q_rad, u),
        u_reference_rad=float(np.hypot(aligned.u_reference_rad, u)),
    )


def turned_round(aligned: Aligned) -> Aligned:
    """The session with its rotation counted the other way, from the other end of the travel."""
    return counted_from_lower_end(
        replace(
            aligned,
            q_rad=-aligned.q_rad,
            rate_rad_s=-aligned.rate_rad_s,
            accel_rad_s2=-aligned.accel_rad_s2,
        )
    )
