"""What the dimensions of a machine can be, each with its reason: a slip of the unit is caught where it is read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Limits:
    """The sizes that a quantity can have.

    Attributes
    ----------
    low, high : float
        SI.
    reason : str
        Why, as the message says it.
    """

    low: float
    high: float
    reason: str

    def allow(self, value: float) -> bool:
        """Whether a value (SI) is possible."""
        return self.low <= value <= self.high


HANDLE_RADIUS: Final = Limits(
    0.02, 3.0, "no person reaches a handle further than 3 m from its hinge, or turns one closer than 2 cm"
)
CRANK: Final = Limits(0.02, 3.0, "a link that turns by hand is between 2 cm and 3 m long")
LEVER_MASS_RADIUS: Final = Limits(-3.0, 3.0, "no mass rides on a lever further than 3 m from its hinge")
DRUM_RADIUS: Final = Limits(0.005, 1.0, "a drum, cam or wheel is between 5 mm and 1 m in radius")
PART_MASS: Final = Limits(0.0, 1000.0, "no part of a training machine has a mass below 0 or above 1000 kg")
INCLINATION: Final = Limits(-math.pi / 2, math.pi / 2, "a hinge is inclined by 90° at most")
"""Sizes of machines that people move: common practice, no source."""
