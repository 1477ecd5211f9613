from .capacity.capacity import (
    CapacityCurve as CapacityCurve,
    capacity_from_holds as capacity_from_holds,
    capacity_from_repetitions as capacity_from_repetitions,
    capacity_from_table as capacity_from_table,
)
from .capacity.file import capacity_from_json as capacity_from_json, capacity_to_json as capacity_to_json
from .capacity.hold_plan import WARM_UP as WARM_UP, HoldPlan as HoldPlan, plan_holds as plan_holds
from .capacity.holds import (
    REPETITION_RANGE_RAD as REPETITION_RANGE_RAD,
    Hold as Hold,
    find_holds as find_holds,
    strong_efforts as strong_efforts,
)
from .capacity.sides import SideDifference as SideDifference, compare_sides as compare_sides
from .clients.cautions import (
    ESTIMATE as ESTIMATE,
    HELP_BY_HAND as HELP_BY_HAND,
    MAXIMAL_EFFORT as MAXIMAL_EFFORT,
    PAIN_IN_A_HOLD as PAIN_IN_A_HOLD,
)
from .clients.folder import (
    ClientFolder as ClientFolder,
    ClientRecord as ClientRecord,
    SessionRecord as SessionRecord,
)
from .clients.history import changes as changes
from .errors import (
    CapacityError as CapacityError,
    ClientFileError as ClientFileError,
    CoachingError as CoachingError,
    OverlapError as OverlapError,
)
from .hands.effort import (
    RepetitionEffort as RepetitionEffort,
    SetEffort as SetEffort,
    set_effort as set_effort,
)
from .hands.given_help import (
    DeliveredHelp as DeliveredHelp,
    DeliveredPass as DeliveredPass,
    Phase as Phase,
    delivered_help as delivered_help,
)
from .hands.help_plan import (
    FEELABLE_N as FEELABLE_N,
    STEADY_HAND_N as STEADY_HAND_N,
    HelpPlan as HelpPlan,
    HelpStretch as HelpStretch,
    plan_help as plan_help,
)
from .hands.motion import Motion as Motion, motion_of as motion_of
from .match.load_line import LoadLine as LoadLine
from .match.match import (
    UNDER_CHALLENGED as UNDER_CHALLENGED,
    Match as Match,
    load_for_demand as load_for_demand,
    match_capacity as match_capacity,
)
from .match.repetitions_to_failure import (
    RepetitionRange as RepetitionRange,
    brzycki as brzycki,
    epley as epley,
    full_against_short as full_against_short,
    repetitions_at as repetitions_at,
    shortening_words as shortening_words,
)
from .match.what_if import (
    AddedForce as AddedForce,
    LoadLimit as LoadLimit,
    WhatIf as WhatIf,
    compare_changes as compare_changes,
    greatest_load as greatest_load,
    inertia_swing_n as inertia_swing_n,
    with_added as with_added,
    within as within,
)
from .statistics.profile_difference import (
    SAME_LOAD_KG as SAME_LOAD_KG,
    ProfileDifference as ProfileDifference,
    profile_difference as profile_difference,
)
from .statistics.reliability import (
    Repeatability as Repeatability,
    change_in_words as change_in_words,
    minimal_difference as minimal_difference,
    repeatability as repeatability,
)
