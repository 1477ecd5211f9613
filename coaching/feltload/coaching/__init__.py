"""Capacity of a person, match, help by hand, comparison and reliability."""

from __future__ import annotations

from feltload.coaching.capacity import (
    CapacityCurve,
    capacity_from_holds,
    capacity_from_repetitions,
    capacity_from_table,
)
from feltload.coaching.capacity_file import capacity_from_json, capacity_to_json
from feltload.coaching.client_folder import ClientFolder, ClientRecord, SessionRecord
from feltload.coaching.effort import RepetitionEffort, SetEffort, set_effort
from feltload.coaching.errors import CapacityError, ClientFileError, CoachingError, OverlapError
from feltload.coaching.given_help import DeliveredHelp, DeliveredPass, delivered_help
from feltload.coaching.help_plan import HelpPlan, HelpStretch, plan_help
from feltload.coaching.hold_plan import HoldPlan, plan_holds
from feltload.coaching.holds import Hold, find_holds
from feltload.coaching.load_line import LoadLine
from feltload.coaching.match import Match, load_for_demand, match
from feltload.coaching.motion import Motion, motion_of
from feltload.coaching.profile_difference import ProfileDifference, profile_difference
from feltload.coaching.reliability import Repeatability, change_in_words, minimal_difference, repeatability
from feltload.coaching.repetitions_to_failure import (
    RepetitionRange,
    brzycki,
    epley,
    full_against_short,
    repetitions_at,
    shortening_words,
)
from feltload.coaching.sides import SideDifference, compare_sides
from feltload.coaching.what_if import (
    AddedForce,
    LoadLimit,
    WhatIf,
    compare_changes,
    greatest_load,
    inertia_swing_n,
    with_added,
    within,
)

__all__ = [
    "AddedForce",
    "CapacityCurve",
    "CapacityError",
    "ClientFileError",
    "ClientFolder",
    "ClientRecord",
    "CoachingError",
    "DeliveredHelp",
    "DeliveredPass",
    "HelpPlan",
    "HelpStretch",
    "Hold",
    "HoldPlan",
    "LoadLimit",
    "LoadLine",
    "Match",
    "Motion",
    "OverlapError",
    "ProfileDifference",
    "Repeatability",
    "RepetitionEffort",
    "RepetitionRange",
    "SessionRecord",
    "SetEffort",
    "SideDifference",
    "WhatIf",
    "brzycki",
    "capacity_from_holds",
    "capacity_from_json",
    "capacity_from_repetitions",
    "capacity_from_table",
    "capacity_to_json",
    "change_in_words",
    "compare_changes",
    "compare_sides",
    "delivered_help",
    "epley",
    "find_holds",
    "full_against_short",
    "greatest_load",
    "inertia_swing_n",
    "load_for_demand",
    "match",
    "minimal_difference",
    "motion_of",
    "plan_help",
    "plan_holds",
    "profile_difference",
    "repeatability",
    "repetitions_at",
    "set_effort",
    "shortening_words",
    "with_added",
    "within",
]
