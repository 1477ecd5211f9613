"""How narrow the band would be with more repetitions: what decides whether to go on recording."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from feltload.core import Floats
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.uncertainty.bands import MOST_CLUSTERS, half_width_95
from feltload.signal.profile.uncertainty.budget_item import BudgetSource

__all__ = ["foreseen_u95_n"]


def foreseen_u95_n(
    estimate: ProfileEstimate, more_movements: float, *, without: Collection[BudgetSource] = ()
) -> Floats:
    """Half-width of the 95 % band after more half-repetitions like those so far.

    Parameters
    ----------
    estimate : ProfileEstimate
    more_movements : float
        Half-repetitions; infinite for what no repetition takes away.
    without : collection of BudgetSource
        Sources that would be known by then, such as the drift of the zero after a rest.

    Returns
    -------
    ndarray, shape (m, n)
        In N, as `ProfileEstimate.static_u95_n`.

    Notes
    -----
    The statistical part falls with the root of the number of half-repetitions and gains their degrees of freedom;
    every systematic source stays as it is. What unlike repetitions would bring, such as the first brisk ones, is not
    foreseen.
    """
    now = max(1, estimate.health.movements)
    share = 0.0 if np.isinf(more_movements) else now / (now + more_movements)
    statistical = np.zeros_like(estimate.static_n)
    systematic = np.zeros_like(estimate.static_n)
    for item in estimate.budget:
        if item.systematic and item.source not in without:
            systematic += item.curve_n**2
        elif not item.systematic:
            statistical += share * item.curve_n**2
    freedom = max(1.0, min(now + more_movements, MOST_CLUSTERS) - 1.0)
    return half_width_95(np.sqrt(systematic + statistical), np.sqrt(statistical), freedom)
