"""Streams to one clock, lever motion, repetitions and the resistance profile."""

from __future__ import annotations

from feltload.signal.clock import ClockFit, ClockPiece, join_clock
from feltload.signal.errors import ClockError, MotionError, ProfileError, ResultsError, SignalError
from feltload.signal.findings import Finding, Shape, describe_shape, find, friction_share, inertia_at_tempo_n
from feltload.signal.hinge import HingeMotion, HingeParameters, estimate_hinge
from feltload.signal.hinge_stream import HingeStream, LiveMotion
from feltload.signal.noise import InertialNoise
from feltload.signal.pipeline import Settings, estimate
from feltload.signal.profile import BudgetItem, ForceModel, Lag, LagReading, ProfileEstimate, Repetition
from feltload.signal.repetitions import SideDifference, compare_sides
from feltload.signal.results import load_results, profile_summary, profile_table, save_results
from feltload.signal.session import ForceUncertainty, Reference, Session

__all__ = [
    "BudgetItem",
    "ClockError",
    "ClockFit",
    "ClockPiece",
    "Finding",
    "ForceModel",
    "ForceUncertainty",
    "HingeMotion",
    "HingeParameters",
    "HingeStream",
    "InertialNoise",
    "Lag",
    "LagReading",
    "LiveMotion",
    "MotionError",
    "ProfileError",
    "ProfileEstimate",
    "Reference",
    "Repetition",
    "ResultsError",
    "Session",
    "Settings",
    "Shape",
    "SideDifference",
    "SignalError",
    "compare_sides",
    "describe_shape",
    "estimate",
    "estimate_hinge",
    "find",
    "friction_share",
    "inertia_at_tempo_n",
    "join_clock",
    "load_results",
    "profile_summary",
    "profile_table",
    "save_results",
]
