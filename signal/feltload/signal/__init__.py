"""Streams to one clock, lever motion, repetitions and the resistance profile."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feltload.acquisition.lazy_face import lazy_names

if TYPE_CHECKING:
    from feltload.signal.clock import ClockFit, ClockPiece, join_clock
    from feltload.signal.errors import ClockError, MotionError, ProfileError, ResultsError, SignalError
    from feltload.signal.findings import (
        Finding,
        Shape,
        describe_shape,
        find,
        friction_share,
        inertia_at_tempo_n,
    )
    from feltload.signal.hinge import HingeMotion, HingeParameters, estimate_hinge
    from feltload.signal.hinge_stream import HingeStream, LiveMotion
    from feltload.signal.noise import InertialNoise
    from feltload.signal.pipeline import Settings, estimate
    from feltload.signal.profile import (
        START_ANGLE_SOURCE,
        BudgetItem,
        ForceModel,
        Lag,
        LagReading,
        ProfileEstimate,
        Repetition,
    )
    from feltload.signal.repetitions import SideDifference, compare_sides
    from feltload.signal.results import load_results, profile_summary, profile_table, save_results
    from feltload.signal.session import ForceUncertainty, Reference, Session
    from feltload.signal.travel import HandleTravel
else:
    __getattr__ = lazy_names(
        __name__,
        {
            "clock": "ClockFit ClockPiece join_clock",
            "errors": "ClockError MotionError ProfileError ResultsError SignalError",
            "findings": "Finding Shape describe_shape find friction_share inertia_at_tempo_n",
            "hinge": "HingeMotion HingeParameters estimate_hinge",
            "hinge_stream": "HingeStream LiveMotion",
            "noise": "InertialNoise",
            "pipeline": "Settings estimate",
            "profile": "START_ANGLE_SOURCE BudgetItem ForceModel Lag LagReading ProfileEstimate Repetition",
            "repetitions": "SideDifference compare_sides",
            "results": "load_results profile_summary profile_table save_results",
            "session": "ForceUncertainty Reference Session",
            "travel": "HandleTravel",
        },
    )

__all__ = [
    "START_ANGLE_SOURCE",
    "BudgetItem",
    "ClockError",
    "ClockFit",
    "ClockPiece",
    "Finding",
    "ForceModel",
    "ForceUncertainty",
    "HandleTravel",
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
