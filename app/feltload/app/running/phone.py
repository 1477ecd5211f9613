"""A phone that sends its motion, as pages show it."""

from __future__ import annotations

from dataclasses import dataclass

from feltload.acquisition import Recognition


@dataclass(frozen=True)
class PhoneState:
    """How a phone is doing.

    Attributes
    ----------
    connected, sending : bool
    rate_hz : float
        Of the newest seconds, by the page's clock; NaN before there are any.
    lost : int
        Samples that are missing: dropped by its page or refused here.
    recorded : bool
        Whether a recorder takes them.
    recognition : Recognition
    """

    connected: bool
    sending: bool
    rate_hz: float
    lost: int
    recorded: bool
    recognition: Recognition
