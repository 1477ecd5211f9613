"""What moves on a page, many times a second: small, and without a memory."""

from __future__ import annotations

import math
from dataclasses import dataclass

from feltload.app.running.state import LiveState
from feltload.app.scripts.moment import Beat
from feltload.coaching import HelpDoubt


@dataclass(frozen=True)
class HandsNow:
    """A partner's hands at this moment. Positive helps along the raising direction.

    Attributes
    ----------
    planned_n : float
        What the plan asks a hand for at this position on this way, in steps that a hand feels; NaN without a plan or
        outside it.
    given_n, u95_n : float
        What the machine needs at this motion minus what the client's handle feels, and its 95 % band; NaN where it
        cannot be known.
    doubt : HelpDoubt or None
        Why not.
    age_s : float
        How old the samples are that it rests on, where they arrive now; NaN in a replay.
    """

    planned_n: float = math.nan
    given_n: float = math.nan
    u95_n: float = math.nan
    doubt: HelpDoubt | None = None
    age_s: float = math.nan


@dataclass(frozen=True)
class ArmMoving:
    """What moves of one arm.

    Attributes
    ----------
    time_s : float
        Recorded time of the newest sample of either sensor; NaN without any.
    force_n, peak_n : float
        Now, and the greatest so far; NaN while not known.
    q_rad, rate_rad_s, u_q_rad : float
        Rotation from the start stop, its rate and its standard uncertainty now; NaN while not known.
    raising : bool or None
        Way of the pass that goes on; None at rest.
    pass_number : int
        Of the pass that goes on: the number that it will have in `ArmState.passes`.
    curve_from : int
        Place of the first of the points below within that pass.
    curve_q_rad, curve_force_n : tuple of float
        Points of that pass which were not sent to this viewer before.
    """

    time_s: float = math.nan
    force_n: float = math.nan
    peak_n: float = math.nan
    q_rad: float = math.nan
    rate_rad_s: float = math.nan
    u_q_rad: float = math.nan
    raising: bool | None = None
    pass_number: int = 0
    curve_from: int = 0
    curve_q_rad: tuple[float, ...] = ()
    curve_force_n: tuple[float, ...] = ()


@dataclass(frozen=True)
class Moving:
    """What moves, to go with the state of the same version.

    Attributes
    ----------
    version : int
        Of the state that it belongs to.
    elapsed_s : float
        Recorded time of the newest samples.
    beat : Beat or None
        The tempo asked for.
    left_s : float
        Until what is asked for now is over by itself; NaN where it waits for something.
    arms : tuple of ArmMoving
        As in `LiveState.arms`.
    hands : HandsNow or None
        Of a helped set.
    """

    version: int
    elapsed_s: float = 0.0
    beat: Beat | None = None
    left_s: float = math.nan
    arms: tuple[ArmMoving, ...] = ()
    hands: HandsNow | None = None


@dataclass(frozen=True)
class Update:
    """What a viewer is given.

    Attributes
    ----------
    moving : Moving
    state : LiveState or None
        Whole, where it changed since this viewer's last update; always in the first.
    """

    moving: Moving
    state: LiveState | None = None
