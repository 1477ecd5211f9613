"""The lag of the force behind the angle: readings of it, and the one used."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import scipy

AGREEMENT_LEVEL = 0.99
"""Chance with which readings that are right agree."""


class LagMethod(StrEnum):
    """Ways to find the lag."""

    DYNAMICS = "dynamics"
    """The lag that leaves the least residual of the profile's regression."""
    KNOCK = "knock"
    """A knock on the handle, seen by both sensors."""
    RIG = "rig"
    """Stated by the rig's record."""
    OTHER_SESSION = "other session"
    """Borrowed from a session made with the same rig."""


@dataclass(frozen=True)
class LagReading:
    """The lag of the force behind the angle, found in one way.

    Attributes
    ----------
    method : LagMethod
    value_s, u_s : float
        Lag and its standard uncertainty in seconds; positive: the force arrives late.
    session : str
        Name of the session it was found in.
    """

    method: LagMethod
    value_s: float
    u_s: float
    session: str = ""


@dataclass(frozen=True)
class Lag:
    """The lag used, and the readings it was combined from.

    Attributes
    ----------
    value_s, u_s : float
        Weighted mean and standard uncertainty in seconds.
    readings : tuple of LagReading
        What each way found.
    known : bool
        False when no reading could fix it; then `u_s` is the prior's and widens the band.
    """

    value_s: float
    u_s: float
    readings: tuple[LagReading, ...] = ()
    known: bool = True

    @property
    def degrees(self) -> int:
        """Degrees of freedom of `chi2`: readings - 1."""
        return max(len(self.readings) - 1, 0)

    @property
    def chi2(self) -> float:
        """Weighted sum of squares of the readings about their weighted mean."""
        values = np.array([reading.value_s for reading in self.readings])
        weights = 1.0 / np.array([reading.u_s for reading in self.readings]) ** 2
        mean = np.sum(weights * values) / np.sum(weights) if self.readings else 0.0
        return float(np.sum(weights * (values - mean) ** 2))

    @property
    def agree(self) -> bool:
        """Whether `chi2` is within its 99 % limit (true with one reading)."""
        return self.degrees == 0 or self.chi2 <= float(
            scipy.special.chdtri(self.degrees, 1.0 - AGREEMENT_LEVEL)
        )
