"""What a partner's hands can do."""

from __future__ import annotations

from feltload.coaching.pain.marks import degree_of
from feltload.core import Floats

FEELABLE_N = 5.0
"""A hand does not give less than this on purpose (common practice, no source)."""

HAND_STEP_N = 5.0
"""Smallest difference that a hand feels, about half a kilogram-force (common practice, no source)."""

STEADY_HAND_N = 100.0
"""A partner does not hold more than this evenly by hand (common practice, no source)."""

SHORTEST_STRETCH = 5.0
"""Degrees of travel: over less a partner follows no instruction, and help is not told from a jerk (our own
convention)."""


def shortest_stretch_rad(angle_rad: Floats) -> float:
    """The shortest stretch on the angles of a travel."""
    return SHORTEST_STRETCH * degree_of((float(angle_rad[0]), float(angle_rad[-1])))
