"""Whether what is recorded so far suffices, and what more would bring."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from feltload.core import Fact


class Speed(StrEnum):
    """How a half-repetition was done."""

    SLOW = "slow"
    BRISK = "brisk"


@dataclass(frozen=True)
class Outlook:
    """What more repetitions of one sort would bring.

    Attributes
    ----------
    speed : Speed
    repetitions : int
        How many more.
    load_kg : float
        At this load.
    band_share : float
        Mean 95 % band then, as a share of the peak force.
    """

    speed: Speed
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
    band_share : float
        Mean half-width of the 95 % band as a share of the peak force at this load; NaN without a profile.
    wanted_share : float
        What counts as enough.
    least_share : float
        Where the band goes with any number of repetitions: what certificates, zero and geometry leave; NaN without
        a profile.
    outlook : tuple of Outlook
        What would improve it, the best first; empty when nothing that can be done here would.
    angle_rad, static_n, u95_n : tuple of float
        The profile so far: elevation of the handle's line, static force at this load, half-width of its band.
    repetitions : int
        That it rests on.
    facts : tuple of Fact
        Why there is no profile yet, or what is in doubt about it.
    """

    at_s: float
    band_share: float = math.nan
    wanted_share: float = math.nan
    least_share: float = math.nan
    outlook: tuple[Outlook, ...] = ()
    angle_rad: tuple[float, ...] = ()
    static_n: tuple[float, ...] = ()
    u95_n: tuple[float, ...] = ()
    repetitions: int = 0
    facts: tuple[Fact, ...] = ()

    @property
    def is_enough(self) -> bool:
        """Whether the band is as narrow as wanted, with nothing in doubt."""
        return self.band_share <= self.wanted_share
