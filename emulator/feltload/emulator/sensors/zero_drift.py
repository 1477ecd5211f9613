"""How the zero of an emulated load cell wanders: steadily, while it warms up, and at random."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from feltload.core import Floats

# A random walk is drawn at this step and straight between.
_WALK_STEP_S = 1.0


@dataclass(frozen=True)
class ZeroDrift:
    """Standard deviations that a session's drift is drawn from.

    Parameters
    ----------
    steady_n_per_min : float
        Of a rate that does not change.
    warm_up_n : float
        Of the way that the zero goes while the cell warms up.
    warm_up_min : float
        Time after which it has gone 63 % of it.
    walk_n_rt_min : float
        Random walk, N per square root of a minute.
    """

    steady_n_per_min: float = 0.05
    warm_up_n: float = 0.0
    warm_up_min: float = 8.0
    walk_n_rt_min: float = 0.0

    def wander_n(self, time_s: Floats, rng: Generator) -> Floats:
        """One course of warming up and walk, (n,) N, from the first time on; the steady rate is drawn elsewhere."""
        since_s = time_s - time_s[0]
        course = np.zeros_like(since_s)
        if self.warm_up_n:
            course -= self.warm_up_n * float(rng.normal()) * np.expm1(-since_s / (60.0 * self.warm_up_min))
        if self.walk_n_rt_min:
            count = int(since_s[-1] / _WALK_STEP_S) + 2
            steps = self.walk_n_rt_min * np.sqrt(_WALK_STEP_S / 60.0) * rng.normal(size=count)
            walk = np.cumsum(np.concatenate([[0.0], steps]))
            course += np.interp(since_s, _WALK_STEP_S * np.arange(count + 1), walk)
        return np.asarray(course)
