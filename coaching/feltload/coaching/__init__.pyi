from .capacity.capacity import (
    CapacityCurve as CapacityCurve,
)
from .capacity.capacity import (
    capacity_from_holds as capacity_from_holds,
)
from .capacity.capacity import (
    capacity_from_repetitions as capacity_from_repetitions,
)
from .capacity.capacity import (
    capacity_from_table as capacity_from_table,
)
from .capacity.file import (
    capacity_from_json as capacity_from_json,
)
from .capacity.file import (
    capacity_to_json as capacity_to_json,
)
from .capacity.hold_plan import (
    WARM_UP as WARM_UP,
)
from .capacity.hold_plan import (
    HoldPlan as HoldPlan,
)
from .capacity.hold_plan import (
    plan_holds as plan_holds,
)
from .capacity.holds import (
    REPETITION_RANGE_RAD as REPETITION_RANGE_RAD,
)
from .capacity.holds import (
    Hold as Hold,
)
from .capacity.holds import (
    find_holds as find_holds,
)
from .capacity.holds import (
    strong_efforts as strong_efforts,
)
from .capacity.sides import (
    SideDifference as SideDifference,
)
from .capacity.sides import (
    compare_sides as compare_sides,
)
from .clients.cautions import (
    ESTIMATE as ESTIMATE,
)
from .clients.cautions import (
    HELP_BY_HAND as HELP_BY_HAND,
)
from .clients.cautions import (
    MAXIMAL_EFFORT as MAXIMAL_EFFORT,
)
from .clients.cautions import (
    PAIN_IN_A_HOLD as PAIN_IN_A_HOLD,
)
from .clients.folder import (
    ClientFolder as ClientFolder,
)
from .clients.folder import (
    ClientRecord as ClientRecord,
)
from .clients.folder import (
    SessionRecord as SessionRecord,
)
from .clients.history import (
    changes as changes,
)
from .errors import (
    CapacityError as CapacityError,
)
from .errors import (
    ClientFileError as ClientFileError,
)
from .errors import (
    CoachingError as CoachingError,
)
from .errors import (
    OverlapError as OverlapError,
)
from .hands.effort import (
    RepetitionEffort as RepetitionEffort,
)
from .hands.effort import (
    SetEffort as SetEffort,
)
from .hands.effort import (
    set_effort as set_effort,
)
from .hands.given_help import (
    DeliveredHelp as DeliveredHelp,
)
from .hands.given_help import (
    DeliveredPass as DeliveredPass,
)
from .hands.given_help import (
    Phase as Phase,
)
from .hands.given_help import (
    delivered_help as delivered_help,
)
from .hands.help_plan import (
    FEELABLE_N as FEELABLE_N,
)
from .hands.help_plan import (
    STEADY_HAND_N as STEADY_HAND_N,
)
from .hands.help_plan import (
    HelpPlan as HelpPlan,
)
from .hands.help_plan import (
    HelpStretch as HelpStretch,
)
from .hands.help_plan import (
    plan_help as plan_help,
)
from .hands.motion import (
    Motion as Motion,
)
from .hands.motion import (
    motion_of as motion_of,
)
from .match.load_line import (
    LoadLine as LoadLine,
)
from .match.match import (
    UNDER_CHALLENGED as UNDER_CHALLENGED,
)
from .match.match import (
    Match as Match,
)
from .match.match import (
    load_for_demand as load_for_demand,
)
from .match.match import (
    match_capacity as match_capacity,
)
from .match.repetitions_to_failure import (
    RepetitionRange as RepetitionRange,
)
from .match.repetitions_to_failure import (
    brzycki as brzycki,
)
from .match.repetitions_to_failure import (
    epley as epley,
)
from .match.repetitions_to_failure import (
    full_against_short as full_against_short,
)
from .match.repetitions_to_failure import (
    repetitions_at as repetitions_at,
)
from .match.repetitions_to_failure import (
    shortening_words as shortening_words,
)
from .match.what_if import (
    AddedForce as AddedForce,
)
from .match.what_if import (
    LoadLimit as LoadLimit,
)
from .match.what_if import (
    WhatIf as WhatIf,
)
from .match.what_if import (
    compare_changes as compare_changes,
)
from .match.what_if import (
    greatest_load as greatest_load,
)
from .match.what_if import (
    inertia_swing_n as inertia_swing_n,
)
from .match.what_if import (
    with_added as with_added,
)
from .match.what_if import (
    within as within,
)
from .statistics.profile_difference import (
    SAME_LOAD_KG as SAME_LOAD_KG,
)
from .statistics.profile_difference import (
    ProfileDifference as ProfileDifference,
)
from .statistics.profile_difference import (
    profile_difference as profile_difference,
)
from .statistics.reliability import (
    Repeatability as Repeatability,
)
from .statistics.reliability import (
    change_in_words as change_in_words,
)
from .statistics.reliability import (
    minimal_difference as minimal_difference,
)
from .statistics.reliability import (
    repeatability as repeatability,
)

__all__ = [
    "ESTIMATE",
    "FEELABLE_N",
    "HELP_BY_HAND",
    "MAXIMAL_EFFORT",
    "PAIN_IN_A_HOLD",
    "REPETITION_RANGE_RAD",
    "SAME_LOAD_KG",
    "STEADY_HAND_N",
    "UNDER_CHALLENGED",
    "WARM_UP",
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
    "Phase",
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
    "changes",
    "compare_changes",
    "compare_sides",
    "delivered_help",
    "epley",
    "find_holds",
    "full_against_short",
    "greatest_load",
    "inertia_swing_n",
    "load_for_demand",
    "match_capacity",
    "minimal_difference",
    "motion_of",
    "plan_help",
    "plan_holds",
    "profile_difference",
    "repeatability",
    "repetitions_at",
    "set_effort",
    "shortening_words",
    "strong_efforts",
    "with_added",
    "within",
]
