"""Capacity as the envelope of maximal slow repetitions."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.coaching.capacity.curve import CapacityCurve, CapacitySource
from feltload.coaching.capacity.overlap import even_grid
from feltload.coaching.errors import CapacityError
from feltload.core import Floats

SMALLEST_SHARED_RAD = np.deg2rad(5.0)


def capacity_from_repetitions(
    angle_rad: Sequence[Floats],
    force_n: Sequence[Floats],
    *,
    u_scale: float = 0.005,
    side: str | None = None,
) -> CapacityCurve:
    """Capacity as the envelope of maximal slow repetitions.

    Parameters
    ----------
    angle_rad, force_n : sequence of ndarray, one pair a repetition
        Concentric part of each maximal slow repetition, force low-passed.
    u_scale : float
        Relative standard uncertainty of the force calibration.
    side : {"left", "right"}, optional
        Side measured.

    Raises
    ------
    CapacityError
        With fewer than two repetitions, or repetitions that share no part of the travel.
    """
    if len(angle_rad) < 2:
        raise CapacityError(
            "one repetition shows no spread",
            remedy="record two maximal slow repetitions or more, with rest between",
        )
    low = max(float(angle.min()) for angle in angle_rad)
    high = min(float(angle.max()) for angle in angle_rad)
    if high - low < SMALLEST_SHARED_RAD:
        raise CapacityError(
            "the repetitions share less than 5° of travel", remedy="repeat them through the same range"
        )
    grid = even_grid(low, high)
    forces = np.stack(
        [_force_at(grid, angle, force) for angle, force in zip(angle_rad, force_n, strict=True)]
    )
    envelope = forces.max(axis=0)
    # Repetitions of one person go up and down together, so their spread counts as fully correlated.
    spread = forces.std(axis=0, ddof=1) / np.sqrt(len(forces))
    covariance = np.outer(spread, spread) + u_scale**2 * np.outer(envelope, envelope)
    return CapacityCurve(grid, envelope, covariance, CapacitySource.REPETITIONS, side=side)


def _force_at(grid: Floats, angle: Floats, force: Floats) -> Floats:
    ascending = np.argsort(angle)
    return np.interp(grid, angle[ascending], force[ascending])
