"""The lag of the force behind the angle: readings of it, and the one used."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LagReading:
    """The lag of the force behind the angle, found in one way.

    Attributes
    ----------
    method : str
        ``"dynamics"``, ``"knock"`` or ``"rig"``.
    value_s, u_s : float
        Lag and its standard uncertainty in seconds; positive: the force arrives late.
    session : str
        Name of the session it was found in.
    """

    method: str
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
    chi2 : float
        Weighted sum of squares of the readings about the mean.
    degrees : int
        Its degrees of freedom (readings - 1).
    agree : bool
        Whether `chi2` is within its 99 % limit (true with one reading).
    known : bool
        False when no reading could fix it; then `u_s` is the prior's and widens the band.
    """

    value_s: float
    u_s: float
    readings: tuple[LagReading, ...] = ()
    chi2: float = 0.0
    degrees: int = 0
    agree: bool = True
    known: bool = True
