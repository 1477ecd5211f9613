"""How a profile came about."""

from __future__ import annotations

from enum import StrEnum


class ProfileMethod(StrEnum):
    """How a profile was measured."""

    REPETITIONS = "repetitions"
    """By sensors, through repetitions."""
    STOPS = "stops"
    """By a scale that was read by hand at stops: of the machine at rest alone."""
    PREDICTION = "prediction"
    """Not at all: predicted from the machine file."""

    @property
    def said(self) -> str:
        """What a profile measured this way is."""
        return {
            ProfileMethod.REPETITIONS: "Resistance profile measured through repetitions",
            ProfileMethod.STOPS: "Static profile read by hand at stops",
            ProfileMethod.PREDICTION: "Resistance profile predicted, not measured",
        }[self]
