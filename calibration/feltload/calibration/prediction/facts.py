"""What a reader of a predicted profile should know, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class PredictionFact(StrEnum):
    """What a prediction rests on."""

    NOT_MEASURED = "nothing-was-measured"
    """The profile comes from dimensions alone."""

    NO_FRICTION = "friction-not-stated"
    """Neither the machine file nor anybody says how large friction is."""

    DEFAULT_UNCERTAINTIES = "dimensions-uncertainty-default"
    """Dimensions `names` matter and have no stated uncertainty; they make `share` of the variance."""

    NOT_LINEAR = "band-by-simulation"
    """Dimensions are so uncertain that the band comes from simulated machines."""

    PUSHES_ALONG = "machine-pushes-along"
    """The force is below zero over `low_rad` to `high_rad` with `load_kg`: the handle moves on by itself."""
