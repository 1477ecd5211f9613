"""What a partner's hands can do."""

from __future__ import annotations

import numpy as np

FEELABLE_N = 5.0
"""A hand does not give less than this on purpose (common practice, no source)."""

HAND_STEP_N = 5.0
"""Smallest difference that a hand feels, about half a kilogram-force (common practice, no source)."""

STEADY_HAND_N = 100.0
"""A partner does not hold more than this evenly by hand (common practice, no source)."""

SHORTEST_STRETCH_RAD = np.deg2rad(5.0)
"""Over less of the travel than this a partner follows no instruction, and help is not told from a jerk (our own
convention)."""
