"""How a zero goes on after the tare: what is known of it beforehand, and its course once it is found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats


@dataclass(frozen=True)
class ZeroKnown:
    """What is known of a session's zero beside the tare that was taken off.

    Attributes
    ----------
    since_s : float
        When the tare ended.
    rate_n_per_min : float
        Standard deviation of a drift that is expected.
    after_s, after_u_n : float or None
        When the zero was taken again, and its standard uncertainty; its straight line is taken off already.
    after_n : float
        The change that it showed.
    """

    since_s: float
    rate_n_per_min: float
    after_s: float | None = None
    after_u_n: float = 0.0
    after_n: float = 0.0


@dataclass(frozen=True)
class ZeroDrift:
    """Course of the zero of one session, beyond what was taken off before.

    Attributes
    ----------
    knot_s, value_n : ndarray, shape (k,)
        Straight between the knots; the first is the tare, where it is nothing.
    covariance_n2 : ndarray, shape (k, k)
    walk_n_rt_min : float
        How far it wanders in a minute beside that.
    rests_n, free_n, free_u_n : float
        Change that the zero afterwards showed, and what the repetitions alone make of it; NaN without one.
    """

    knot_s: Floats
    value_n: Floats
    covariance_n2: Floats
    walk_n_rt_min: float = 0.0
    rests_n: float = float("nan")
    free_n: float = float("nan")
    free_u_n: float = float("nan")

    @property
    def end_u_n(self) -> float:
        """Standard uncertainty of the last value, what it wanders between the last knots included."""
        last_min = float(self.knot_s[-1] - self.knot_s[-2]) / 60.0
        # Between two knots that hold it a walk is off by a sixth of its variance, mean over the time.
        return float(np.sqrt(self.covariance_n2[-1, -1] + self.walk_n_rt_min**2 * last_min / 6.0))

    def at(self, time_s: Floats) -> Floats:
        """Values at other times, shape (n,)."""
        return np.interp(time_s, self.knot_s, self.value_n)
