"""What a proposed design runs into, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class DesignFact(StrEnum):
    """Where a proposed machine runs into its frame, or away from the hand, and today's does not."""

    HANDLE_NEAR_FRAME = "design-handle-near-frame"
    """After `angle_rad` from the start stop the handle passes `apart_m` from the line of the frame."""

    LOAD_NEAR_FRAME = "design-load-near-frame"
    """The same of where the plates are."""

    UNDER_FLOOR = "design-under-floor"
    """At `angle_rad` the handle or the plates are `under_m` below the floor that a chain hangs to."""

    RUNS_AWAY = "design-runs-away"
    """With `load_kg` the handle is not held back from `from_rad` to `to_rad`; the force is least there, `force_n`."""
