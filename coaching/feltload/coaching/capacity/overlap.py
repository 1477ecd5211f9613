"""Even angles of a curve, and the part of the travel that two curves have in common."""

from __future__ import annotations

import numpy as np

from feltload.coaching.pain.marks import degree_of
from feltload.core import Floats

SMALLEST_OVERLAP_RAD = np.deg2rad(10.0)
FEWEST_ANGLES = 12


def shared_grid(first_rad: Floats, second_rad: Floats) -> Floats | None:
    """Even angles, about a degree apart, over what both cover; None when that is less than 10°.

    Parameters
    ----------
    first_rad, second_rad : ndarray
        Ascending angles of the two curves.
    """
    low, high = max(first_rad[0], second_rad[0]), min(first_rad[-1], second_rad[-1])
    if high - low < SMALLEST_OVERLAP_RAD:
        return None
    return even_grid(low, high)


def even_grid(low_rad: float, high_rad: float) -> Floats:
    """Even angles, about a degree of travel apart, twelve at least."""
    steps = round((high_rad - low_rad) / degree_of((low_rad, high_rad)))
    return np.linspace(low_rad, high_rad, max(FEWEST_ANGLES, steps + 1))
