"""Whether what is recorded so far suffices, and what more would bring."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from feltload.core import Fact
from feltload.signal import BudgetSource


class Speed(StrEnum):
    """How a half-repetition was done."""

    SLOW = "slow"
    BRISK = "brisk"


class Improvement(StrEnum):
    """What narrows a band while recording."""

    SLOW = "slow-repetitions"
    BRISK = "brisk-repetitions"
    """They show the lag between the sensors."""

    ZERO_AFTER = "zero-after"
    """A hands-off rest at the end shows the drift of the zero."""


@dataclass(frozen=True)
class Outlook:
    """What one thing more would bring.

    Attributes
    ----------
    improvement : Improvement
    repetitions : int
        How many more; 0 for a rest.
    load_kg : float
        At this load.
    band_share : float
        Mean half-width of the 95 % band then, as a share of the peak force. Rather too wide than too narrow.
    """

    improvement: Improvement
    repetitions: int
    load_kg: float
    band_share: float


@dataclass(frozen=True)
class Enough:
    """Whether what is recorded suffices, from the estimator run on what is there so far.

    Attributes
    ----------
    at_s : float
        Recorded time that it rests on.
    is_enough : bool
        Nothing that can be done here would narrow the band by a tenth of itself, or it is as narrow as wanted; each
        part of the travel was passed more than once each way, and nothing serious is in doubt.
    band_share : float
        Mean half-width of the 95 % band as a share of the peak force, both at this load; NaN without a profile.
    wanted_share : float
        Band that is enough in any case.
    least_share : float
        Band after any number of repetitions: what certificate, zero and geometry leave; NaN without a profile.
    outlook : tuple of Outlook
        What would improve it, the best first; empty when nothing that can be done here would.
    limit : BudgetSource or None
        The largest part of the band; None without a profile.
    limit_stated : bool
        False where its size is a default because nobody stated it, such as that of a cell without a certificate.
    repetitions : int
        That it rests on, at this load.
    load_kg : float
    angle_rad, static_n, u95_n : tuple of float
        The profile so far: elevation of the handle's line, static force at this load, half-width of its band.
    facts : tuple of Fact
        Why there is no profile yet, or what is in doubt about it.
    """

    at_s: float
    is_enough: bool = False
    band_share: float = math.nan
    wanted_share: float = math.nan
    least_share: float = math.nan
    outlook: tuple[Outlook, ...] = ()
    limit: BudgetSource | None = None
    limit_stated: bool = True
    repetitions: int = 0
    load_kg: float = math.nan
    angle_rad: tuple[float, ...] = ()
    static_n: tuple[float, ...] = ()
    u95_n: tuple[float, ...] = ()
    facts: tuple[Fact, ...] = ()
