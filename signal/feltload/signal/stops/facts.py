"""What is reported about readings taken by hand."""

from __future__ import annotations

from enum import StrEnum


class StopsFact(StrEnum):
    """Kinds of facts about readings at stops. Those about one of several loads carry `load_kg`."""

    BY_HAND = "read-by-hand"
    """`readings` at `stops` places: the profile is of the machine at rest."""

    FRICTION_NOT_SEPARATED = "friction-not-separated"
    """No stop was read both raising and lowering; friction of `share` of the force widens the band."""

    WIDE_GAP = "stops-far-apart"
    """The widest gap lies from `low_share` to `high_share` of the rotation between the first stop and the last."""

    READING_OFF = "reading-off-the-others"
    """The reading of row `row` is `apart_n` off the curve of all the others."""

    WAYS_SWAPPED = "ways-swapped"
    """Readings while lowering are `apart_n` above those while raising."""
