"""Capacity curves written down by hand (invented persons)."""

from __future__ import annotations

import numpy as np

from feltload.coaching import CapacityCurve, CapacitySource


def made_capacity(
    low_deg: float = -25.0,
    high_deg: float = 45.0,
    *,
    force_n: tuple[float, ...] = (420.0, 250.0),
    u: float = 0.02,
    side: str | None = None,
) -> CapacityCurve:
    """A curve through even forces over a travel, with a relative standard uncertainty independent by angle."""
    angle = np.deg2rad(np.arange(low_deg, high_deg + 0.1, 1.0))
    knots = np.linspace(angle[0], angle[-1], len(force_n))
    force = np.interp(angle, knots, force_n)
    return CapacityCurve(angle, force, np.diag((u * force) ** 2), CapacitySource.HOLDS, side=side)
