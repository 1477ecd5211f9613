"""Errors of the signal layer; the tree of all layers' errors is in `feltload.core.errors`."""

from __future__ import annotations

from feltload.core import FeltloadError


class SignalError(FeltloadError):
    """Streams that cannot be turned into a result."""


class ClockError(SignalError):
    """Sample times cannot be put on the host's timeline."""


class MotionError(SignalError):
    """The rotation of the part cannot be estimated."""


class ProfileError(SignalError):
    """A resistance profile cannot be estimated or evaluated."""


class ResultsError(SignalError):
    """Results on disk cannot be written or read back."""
