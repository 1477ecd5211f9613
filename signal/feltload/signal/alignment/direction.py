"""Which way is raising, when a recording shows no rest before its first movement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from feltload.signal.alignment.lag import LagReading
from feltload.signal.alignment.solver import Spacing, solve
from feltload.signal.movement.grid import Aligned

FAR_END = 0.998
"""Quantile of the rotation that stands for the other end of the travel."""


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
        When the session cannot be fitted by itself.
    """
    solved, _ = solve([aligned], [readings], spacing)
    slices, beta = solved.layout.slices(), solved.fit.smoothed.coefficients
    static, friction, inertia = (
        float(np.mean(beta[slices[term, False]])) for term in ("static", "friction", "inertia")
    )
    if not (static > 0.0 and friction < 0.0 and inertia < 0.0):
        return None
    return replace(
        aligned,
        q_rad=float(np.quantile(aligned.q_rad, FAR_END)) - aligned.q_rad,
        rate_rad_s=-aligned.rate_rad_s,
        accel_rad_s2=-aligned.accel_rad_s2,
    )
