"""Which cautions go with which result; their words are in `feltload.app.text.cautions`."""

from __future__ import annotations

from enum import StrEnum


class Caution(StrEnum):
    """What a person is to mind before acting on a result."""

    MAXIMAL_EFFORT = "maximal-effort"
    """Before a maximal hold or repetition."""

    PAIN_IN_A_HOLD = "pain-in-a-hold"
    """A position that hurts is never held."""

    PAINFUL_RANGE = "painful-range"
    """A range of this client is marked painful."""

    LIMIT_TREATS_NOTHING = "limit-treats-nothing"
    """A limit of force between two positions is no treatment."""

    HELP_BY_HAND = "help-by-hand"
    """Help or resistance by hand, beside a moving load."""

    ESTIMATE = "estimate"
    """Capacity and repetitions are estimates of one person on one day."""
