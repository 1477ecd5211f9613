"""One moment of a guided recording, and the steps from its start to its end."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class Ask(StrEnum):
    """What is asked for at a moment."""

    MOVE = "move"
    """Begin: nothing has moved yet."""

    MOVE_HELPED = "move-helped"
    """The same with the partner's help."""

    SLOW = "slow"
    BRISK = "brisk"
    HELPED = "helped"
    """Repetitions with a partner's help, at one even tempo."""

    REST_AFTER = "rest-after"
    """Arm on its stop, hands off; a mark "zero-after" says that they are."""

    SET_UP = "set-up"
    """The arm is fixed at the position; a tap says that it is."""

    COUNTDOWN = "countdown"
    BUILD_UP = "build-up"
    HOLD = "hold"
    REST = "rest"
    PAIN = "pain"
    """Everything stops; where `Moment.goes_on`, a tap says that the other positions are without pain."""

    TOO_FEW = "too-few"
    """Fewer positions are without pain than a curve needs."""

    OVERLOAD = "overload"
    """The load cell's rated capacity was exceeded: the load is let down; a tap says that it was made lighter."""

    DONE = "done"


STOPPED = (Ask.PAIN, Ask.TOO_FEW, Ask.OVERLOAD)
"""Nothing more is asked for until somebody says so."""


@dataclass(frozen=True)
class Beat:
    """The tempo asked for at a moment.

    Attributes
    ----------
    raising : bool
    share : float
        Of this half of the repetition that is over, 0 to 1.
    half_s : float
        Length of one half.
    """

    raising: bool
    share: float
    half_s: float

    @property
    def count(self) -> int:
        """Seconds as they are counted aloud, from 1."""
        return int(self.share * self.half_s) + 1


@dataclass(frozen=True)
class Moment:
    """What is asked for now.

    Attributes
    ----------
    ask : Ask
    number, count : int
        Which repetition or hold of how many; 0 of 0 where it is neither. Repetitions are counted roughly.
    waited_long : bool
        Nothing has moved for so long that the inertial sensor is to be looked at.
    goes_on : bool
        Whether a tap goes on from here.
    left_s : float
        Until this is over by itself; NaN where it waits for a movement or a tap.
    beat : Beat or None
    angle_rad, next_angle_rad : float or None
        Position of the hold at hand, and of the next one.
    arm_rad : float or None
        About where the arm is.
    """

    ask: Ask
    number: int = 0
    count: int = 0
    waited_long: bool = False
    goes_on: bool = False
    left_s: float = math.nan
    beat: Beat | None = None
    angle_rad: float | None = None
    next_angle_rad: float | None = None
    arm_rad: float | None = None


@dataclass(frozen=True)
class Step:
    """One of the steps of a recording, for an overview.

    Attributes
    ----------
    ask : Ask
    count : int
        Repetitions, where it is of them.
    angle_rad : float or None
        Position, where it is a hold.
    """

    ask: Ask
    count: int = 0
    angle_rad: float | None = None


@dataclass(frozen=True)
class ScriptState:
    """What is asked for now, and all that is.

    Attributes
    ----------
    moment : Moment
    steps : tuple of Step
    at_step : int
        Which of them it is at; their number when all is done.
    """

    moment: Moment
    steps: tuple[Step, ...]
    at_step: int
