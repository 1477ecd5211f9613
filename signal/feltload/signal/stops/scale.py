"""What is known of a scale that is read by hand, and of the hand that reads it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

DEFAULT_ERROR_SHARE = 0.01
"""Limits of a hanging or bench scale's error, as a part of the reading, when nobody states them (common practice,
no source)."""

SCATTER_SHARE = 0.01
"""Standard deviation of one reading of a force that a hand holds, as a part of it (common practice, no source)."""

SCATTER_FREEDOM = 4.0
"""Degrees of freedom that this figure is trusted with beside the scatter of repeated readings."""

PULL_RAD = float(np.radians(5.0))
"""Standard uncertainty of the angle between the scale and the handle's path by eye (common practice, no source)."""

FRICTION_SHARE = 0.05
"""Friction of a machine, as a part of the force, when it was not measured (common practice, no source)."""

DEFAULT_ANGLE_U_RAD = float(np.radians(1.0))
DEFAULT_WAY_U_M = 0.01
DEFAULT_SHARE_U = 0.02
"""Standard uncertainty of a position by eye: an angle, a way, a part of the travel (common practice, no source)."""


@dataclass(frozen=True)
class HandScale:
    """A scale in the line of the hands.

    Attributes
    ----------
    resolution_n : float or None
        Smallest step that it shows; None to take the smallest step that the readings were written with.
    error_share : float
        Limits of its error as a part of the reading: a rectangular distribution (JCGM 100:2008, 4.3.7).
    error_stated : bool
        False when that is a default.
    """

    resolution_n: float | None = None
    error_share: float = DEFAULT_ERROR_SHARE
    error_stated: bool = False

    @property
    def gain_u(self) -> float:
        """Relative standard uncertainty of its gain."""
        return self.error_share / float(np.sqrt(3.0))
