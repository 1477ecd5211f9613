"""Streams to one clock, lever motion, repetitions and the resistance profile."""

from __future__ import annotations

from feltload.signal.errors import ClockError, MotionError, ProfileError, ResultsError, SignalError
from feltload.signal.profile import BudgetItem, ForceModel, Lag, LagReading, ProfileEstimate, Repetition
from feltload.signal.session import ForceUncertainty, Reference, Session

__all__ = [
    "BudgetItem",
    "ClockError",
    "ForceModel",
    "ForceUncertainty",
    "Lag",
    "LagReading",
    "MotionError",
    "ProfileError",
    "ProfileEstimate",
    "Reference",
    "Repetition",
    "ResultsError",
    "Session",
    "SignalError",
]
