"""Which way is raising, when a recording shows no rest before its first movement."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.signal.alignment.lag import LagReading
from feltload.signal.alignment.solver import Spacing, solve
from feltload.signal.errors import ProfileError
from feltload.signal.movement.ends import turned_round
from feltload.signal.movement.grid import Aligned


def orient_to_concentric(
    aligned: Aligned, readings: Sequence[LagReading], spacing: Spacing
) -> Aligned | None:
    """The session turned round when it began with a lowering; None when it did not.

    Friction resists and inertia is positive: where the handle resists on the whole and both come out negative, the
    rotation runs the wrong way.

    Parameters
    ----------
    aligned : Aligned
        One session whose first movement need not be a raising.
    readings : sequence of LagReading
        Lags known beforehand.
    spacing : Spacing
        Widths of the spline intervals.

    Raises
    ------
    ProfileError
        When the session cannot be fitted by itself, or friction and inertia contradict each other.
    """
    solved, _ = solve([aligned], [readings], spacing)
    slices, beta = solved.layout.slices(), solved.fit.smoothed.coefficients
    static, friction, inertia = (
        float(np.mean(beta[slices[term, False]])) for term in ("static", "friction", "inertia")
    )
    if static > 0.0 and friction < 0.0 and inertia < 0.0:
        return turned_round(aligned)
    if static > 0.0 and min(friction, inertia) < 0.0:
        raise ProfileError(
            "which way is raising cannot be determined: no rest on the start stop was seen, and friction and inertia"
            " contradict each other; or force and motion do not belong together",
            where=aligned.name,
            remedy="record again from a rest on the start stop",
        )
    return None
