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
    most_u : float
        Largest standard uncertainty, SI: beyond it nothing was measured.
    """

    low: float
    high: float
    reason: str
    most_u: float = math.inf

    def allow(self, value: float) -> bool:
        """Whether a value (SI) is possible."""
        return self.low <= value <= self.high

    def allow_u(self, u: float | None) -> bool:
        """Whether a standard uncertainty (SI) is one."""
        return u is None or 0.0 <= u <= self.most_u


ANYTHING: Final = Limits(-math.inf, math.inf, "")
"""Where nothing is known of it."""
_TAPE_U = 0.5
_ANGLE_U = math.radians(45.0)

HANDLE_RADIUS: Final = Limits(
    0.02,
    3.0,
    "no person reaches a handle further than 3 m from its hinge, or turns one closer than 2 cm",
    _TAPE_U,
)
CRANK: Final = Limits(0.02, 3.0, "a link that turns by hand is between 2 cm and 3 m long", _TAPE_U)
LINK: Final = Limits(
    0.01, 2000.0, "a link is between 1 cm and 2 km long (a straight guide is a very long rocker)", _TAPE_U
)
LEVER_MASS_RADIUS: Final = Limits(
    -3.0, 3.0, "no mass rides on a lever further than 3 m from its hinge", _TAPE_U
)
LENGTH: Final = Limits(-20.0, 20.0, "no part of a machine is 20 m from another", _TAPE_U)
SIZE: Final = Limits(0.0, 20.0, "a length is not below zero, and no part of a machine is 20 m long", _TAPE_U)
GYRATION_RADIUS: Final = Limits(
    0.0, 2.0, "a part's radius of gyration is not below zero and lies within the part: 2 m at most", _TAPE_U
)
DRUM_RADIUS: Final = Limits(0.005, 1.0, "a drum, cam or wheel is between 5 mm and 1 m in radius", 0.2)
PART_MASS: Final = Limits(
    0.0, 1000.0, "no part of a training machine has a mass below 0 or above 1000 kg", 200.0
)
ANGLE: Final = Limits(-2.0 * math.pi, 2.0 * math.pi, "an angle of a part is within one turn, 360°", _ANGLE_U)
CAM_TURN: Final = Limits(-20.0 * math.pi, 20.0 * math.pi, "a cam turns ten times at most", _ANGLE_U)
WRAP: Final = Limits(0.0, 20.0 * math.pi, "a cable goes round a guide between 0 and ten times", math.pi)
INCLINATION: Final = Limits(
    math.radians(-89.5),
    math.radians(89.5),
    "a hinge is inclined by less than 90°: on an upright one the masses are lifted nowhere",
    _ANGLE_U,
)
INCLINE: Final = Limits(0.0, 0.5 * math.pi, "rails rise by 0° (level) to 90° (upright)", _ANGLE_U)
RATIO: Final = Limits(
    0.05, 20.0, "pulleys multiply travel by 0.05 to 20, and by zero there is no motion", 2.0
)
EFFICIENCY: Final = Limits(0.05, 1.0, "a cable passes on a part of the force, 0.05 to 1 (5 % to 100 %)", 0.5)
FRICTION: Final = Limits(0.0, 2.0, "a coefficient of friction is between 0 and 2", 1.0)
STIFFNESS: Final = Limits(0.0, 1e6, "a spring's stiffness is not below zero, nor above 1000 N/mm", 1e6)
DENSITY: Final = Limits(0.0, 100.0, "a chain has between 0 and 100 kg per metre", 50.0)
TABLE_FORCE: Final = Limits(0.0, 20_000.0, "a band pulls with 0 to 20 kN", 10_000.0)
"""Sizes of machines that people move: common practice, no source."""
