"""Errors of the coaching layer; the tree of all layers' errors is in `feltload.core.errors`."""

from __future__ import annotations

from feltload.core import InputError


class CoachingError(InputError):
    """What was asked cannot be said from what was measured."""


class CapacityError(CoachingError):
    """Holds or repetitions that give no capacity curve."""


class OverlapError(CoachingError):
    """Two curves, or a curve and a range, that share no part of the travel."""


class ScalingError(CoachingError):
    """A curve whose mean or peak is too near zero to scale by."""


class ClientFileError(CoachingError):
    """A client's folder that cannot be read or written."""


class PainfulTravelError(CoachingError):
    """What was asked would have the client work where it hurts, or leaves too little beside it."""
