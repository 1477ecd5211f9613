"""What a match may report."""

from __future__ import annotations

from enum import StrEnum


class MatchFact(StrEnum):
    """Kinds of facts about a load against a capacity."""

    LOAD_FAR_FROM_MEASURED = "load-far-from-measured"
    """A rough prediction: figures `load_kg`, `lightest_measured_kg`, `heaviest_measured_kg`."""

    LOAD_ABOVE_MEASURED = "load-above-measured"
    """Heavier than the machine was measured with: figures `load_kg`, `heaviest_measured_kg`."""

    FRICTION_CARRIED = "friction-carried"
    """Friction at `load_kg`, which was not measured, is on the line through the loads that were (`loads_kg`):
    `friction_n` (with `u95_n` where it is known), mean over the travel."""

    ABOVE_CAPACITY_EVERYWHERE = "above-capacity-everywhere"
    """No repetition is to be expected."""

    ABOVE_CAPACITY_AT_LIMIT = "above-capacity-at-limit"
    """The client stops before the limiting position."""

    LIMITING_POSITION_UNCLEAR = "limiting-position-unclear"
    """Demand is so even, or so uncertain, that draws put it over more than half of the travel."""
