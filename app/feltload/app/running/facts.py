"""What is missing or wrong while a recording runs, apart from what sensors, zero and hinge report themselves."""

from __future__ import annotations

from enum import StrEnum


class LiveFact(StrEnum):
    """Kinds of facts about a recording that runs."""

    FORCE_NOT_KNOWN = "live-force-not-known"
    """The readings of a cell cannot be made a force: `what` says why."""

    POSITION_NOT_KNOWN = "live-position-not-known"
    """The arm has not turned enough for its hinge to be found."""

    NO_PROFILE_YET = "live-no-profile-yet"
    """What is recorded so far gives no profile: `what` says why, `remedy` what to do."""
