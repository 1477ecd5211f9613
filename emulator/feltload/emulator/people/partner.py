"""An emulated partner, whose hands push on the handle."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Partner:
    """A partner whose hands act on the handle between two positions (shares of the travel).

    `force_n` > 0 helps the person, < 0 adds resistance; it fades in and out over `fade` of the travel.
    """

    force_n: float
    from_share: float
    to_share: float
    fade: float = 0.12
    raising: bool = True
    lowering: bool = True
