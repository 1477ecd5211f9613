"""What a measurement of capacity may report."""

from __future__ import annotations

from enum import StrEnum


class CapacityFact(StrEnum):
    """Kinds of facts about holds and the curve through them."""

    HOLD_MOVED = "hold-moved"
    """An effort left out, since the lever moved: span of the effort, figure `movement_rad` in its steadiest second."""

    PAINFUL_HOLDS_UNUSED = "painful-holds-unused"
    """Holds at positions marked painful: figure `count`."""

    SPREAD_OF_TRIES_ASSUMED = "spread-of-tries-assumed"
    """One try at each position: figure `spread`, relative standard deviation."""

    LATER_TRIES_WEAKER = "later-tries-weaker"
    """At the same position: the person grew tired."""
