from .capacity.curve import CapacityCurve as CapacityCurve, CapacitySource as CapacitySource
from .capacity.facts import CapacityFact as CapacityFact
from .capacity.file import (
    capacity_from_json as capacity_from_json,
    capacity_to_json as capacity_to_json,
    pain_record as pain_record,
)
from .capacity.from_holds import (
    FEWEST_POSITIONS as FEWEST_POSITIONS,
    capacity_from_holds as capacity_from_holds,
)
from .capacity.from_repetitions import capacity_from_repetitions as capacity_from_repetitions
from .capacity.from_table import capacity_from_table as capacity_from_table
from .capacity.hold_plan import WARM_UP as WARM_UP, HoldPlan as HoldPlan, plan_holds as plan_holds
from .capacity.holds import (
    REPETITION_RANGE_RAD as REPETITION_RANGE_RAD,
    Hold as Hold,
    find_holds as find_holds,
)
from .capacity.sides import (
    CapacitySideDifference as CapacitySideDifference,
    compare_capacity_sides as compare_capacity_sides,
)
from .cautions import Caution as Caution
from .clients.facts import ClientFileFact as ClientFileFact
from .clients.folder import (
    ClientFolder as ClientFolder,
    ClientPain as ClientPain,
    ClientRecord as ClientRecord,
    SessionRecord as SessionRecord,
)
from .clients.history import ValueChange as ValueChange, latest_changes as latest_changes
from .errors import (
    CapacityError as CapacityError,
    ClientFileError as ClientFileError,
    CoachingError as CoachingError,
    OverlapError as OverlapError,
    PainfulTravelError as PainfulTravelError,
    ScalingError as ScalingError,
)
from .hands.delivered import (
    DeliveredHelp as DeliveredHelp,
    HalfRepetitionHelp as HalfRepetitionHelp,
    Phase as Phase,
)
from .hands.effort import (
    RepetitionEffort as RepetitionEffort,
    SetEffort as SetEffort,
    set_effort as set_effort,
)
from .hands.given_help import delivered_help as delivered_help
from .hands.hand import FEELABLE_N as FEELABLE_N, HAND_STEP_N as HAND_STEP_N, STEADY_HAND_N as STEADY_HAND_N
from .hands.hand_advice import (
    Course as Course,
    HandAction as HandAction,
    HelpStretch as HelpStretch,
    certain_help as certain_help,
    in_hand_steps as in_hand_steps,
)
from .hands.help_plan import USUAL_TARGET as USUAL_TARGET, HelpPlan as HelpPlan, plan_help as plan_help
from .hands.live_help import HelpDoubt as HelpDoubt, HelpNow as HelpNow, LiveHelp as LiveHelp
from .hands.motion import PersonMotion as PersonMotion, person_motion as person_motion
from .hands.plan_comparison import (
    ComparedStretch as ComparedStretch,
    HelpVerdict as HelpVerdict,
    compare_with_plan as compare_with_plan,
    verdict_of as verdict_of,
)
from .match.added_table import added_from_table as added_from_table
from .match.facts import MatchFact as MatchFact
from .match.load_line import AddedForce as AddedForce, LoadLine as LoadLine
from .match.loads import (
    LoadLimit as LoadLimit,
    greatest_load as greatest_load,
    load_for_demand as load_for_demand,
)
from .match.match import (
    UNDER_CHALLENGED as UNDER_CHALLENGED,
    Match as Match,
)
from .match.matching import match_capacity as match_capacity
from .match.plates import PER_UNIT as PER_UNIT, Plates as Plates
from .match.repetitions_to_failure import (
    TRUSTED_REPETITIONS as TRUSTED_REPETITIONS,
    RepetitionRange as RepetitionRange,
    brzycki as brzycki,
    epley as epley,
)
from .match.what_if import (
    Change as Change,
    ChangeKind as ChangeKind,
    WhatIf as WhatIf,
    compare_changes as compare_changes,
    inertia_swing_n as inertia_swing_n,
)
from .pain.entered import PainfulWork as PainfulWork
from .pain.marks import (
    PainMark as PainMark,
    add_marks as add_marks,
    placed_marks as placed_marks,
    remove_marks as remove_marks,
    span_around as span_around,
    standing_spans as standing_spans,
)
from .pain.travel import WorkingTravel as WorkingTravel, working_travel as working_travel
from .reliability.analysis import QuantityAnalysis as QuantityAnalysis, analyse_quantity as analyse_quantity
from .reliability.change import (
    Repeatability as Repeatability,
    minimal_difference as minimal_difference,
    repeatability as repeatability,
)
from .reliability.components import (
    RESIDUAL as RESIDUAL,
    Component as Component,
    Components as Components,
    scatter_along as scatter_along,
    variance_components as variance_components,
)
from .reliability.curves import (
    CurveRepeatability as CurveRepeatability,
    CurveTest as CurveTest,
    compare_paired_curves as compare_paired_curves,
    curve_repeatability as curve_repeatability,
)
from .reliability.design import (
    FACTORS as FACTORS,
    Design as Design,
    study_design as study_design,
)
from .reliability.facts import RepeatabilityFact as RepeatabilityFact
from .reliability.intraclass import (
    IntraclassCorrelation as IntraclassCorrelation,
    intraclass_correlations as intraclass_correlations,
    one_way_only as one_way_only,
)
from .reliability.limits import (
    FEWEST_PAIRS as FEWEST_PAIRS,
    LimitsOfAgreement as LimitsOfAgreement,
    limits_of_agreement as limits_of_agreement,
)
from .reliability.mean_squares import MeanSquares as MeanSquares, mean_squares as mean_squares
from .reliability.mixed_model import MixedModel as MixedModel, mixed_model as mixed_model
from .reliability.occasions import OccasionPair as OccasionPair, level_pairs as level_pairs
from .reliability.sample_size import (
    measurements_to_average as measurements_to_average,
    targets_for_correlation as targets_for_correlation,
)
from .reliability.within import (
    Estimate as Estimate,
    WithinScatter as WithinScatter,
    log_cv_percent as log_cv_percent,
    within_scatter as within_scatter,
)
from .statistics.curves import (
    CurveDifference as CurveDifference,
    ScaledBy as ScaledBy,
    UncertainCurve as UncertainCurve,
    curve_difference as curve_difference,
    source_name as source_name,
)
from .statistics.profile_curves import (
    friction_curve as friction_curve,
    static_curve as static_curve,
)
from .statistics.profile_difference import (
    SAME_LOAD_KG as SAME_LOAD_KG,
    ProfileDifference as ProfileDifference,
    profile_difference as profile_difference,
)
from .statistics.whole_curve import whole_curve_factor as whole_curve_factor
