from .alignment.lag import (
    Lag as Lag,
)
from .alignment.lag import (
    LagReading as LagReading,
)
from .clock.joining import (
    ClockFit as ClockFit,
)
from .clock.joining import (
    ClockPiece as ClockPiece,
)
from .clock.joining import (
    join_clock as join_clock,
)
from .errors import (
    ClockError as ClockError,
)
from .errors import (
    MotionError as MotionError,
)
from .errors import (
    ProfileError as ProfileError,
)
from .errors import (
    ResultsError as ResultsError,
)
from .errors import (
    SignalError as SignalError,
)
from .hinge.estimator import (
    HingeMotion as HingeMotion,
)
from .hinge.estimator import (
    HingeParameters as HingeParameters,
)
from .hinge.estimator import (
    estimate_hinge as estimate_hinge,
)
from .hinge.stream import (
    HingeStream as HingeStream,
)
from .hinge.stream import (
    LiveMotion as LiveMotion,
)
from .movement.grid import (
    Series as Series,
)
from .movement.movements import (
    find_runs as find_runs,
)
from .movement.travel import (
    HandleTravel as HandleTravel,
)
from .noise.densities import (
    InertialNoise as InertialNoise,
)
from .pipeline import (
    Settings as Settings,
)
from .pipeline import (
    estimate as estimate,
)
from .pipeline import (
    prepare as prepare,
)
from .profile.estimate import (
    START_ANGLE_SOURCE as START_ANGLE_SOURCE,
)
from .profile.estimate import (
    BudgetItem as BudgetItem,
)
from .profile.estimate import (
    ForceModel as ForceModel,
)
from .profile.estimate import (
    ProfileEstimate as ProfileEstimate,
)
from .profile.estimate import (
    Repetition as Repetition,
)
from .profile.findings import (
    FLAT_SHARE as FLAT_SHARE,
)
from .profile.findings import (
    SMOOTH_PEAK_ACCELERATION as SMOOTH_PEAK_ACCELERATION,
)
from .profile.findings import (
    Finding as Finding,
)
from .profile.findings import (
    Shape as Shape,
)
from .profile.findings import (
    describe_shape as describe_shape,
)
from .profile.findings import (
    friction_share as friction_share,
)
from .profile.findings import (
    inertia_at_tempo_n as inertia_at_tempo_n,
)
from .profile.findings import (
    summarize_findings as summarize_findings,
)
from .profile.repetitions import (
    SideDifference as SideDifference,
)
from .profile.repetitions import (
    compare_sides as compare_sides,
)
from .profile.repetitions import (
    find_repetitions as find_repetitions,
)
from .profile.results import (
    CSV as CSV,
)
from .profile.results import (
    JSON as JSON,
)
from .profile.results import (
    MODEL as MODEL,
)
from .profile.results import (
    load_results as load_results,
)
from .profile.results import (
    profile_summary as profile_summary,
)
from .profile.results import (
    profile_table as profile_table,
)
from .profile.results import (
    save_results as save_results,
)
from .session import (
    ForceUncertainty as ForceUncertainty,
)
from .session import (
    Reference as Reference,
)
from .session import (
    Session as Session,
)
from .zero.recorded_zero import (
    recorded_zeros as recorded_zeros,
)
from .zero.tare import (
    Tare as Tare,
)
from .zero.tare import (
    find_tare as find_tare,
)

__all__ = [
    "CSV",
    "FLAT_SHARE",
    "JSON",
    "MODEL",
    "SMOOTH_PEAK_ACCELERATION",
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
    "Series",
    "Session",
    "Settings",
    "Shape",
    "SideDifference",
    "SignalError",
    "Tare",
    "compare_sides",
    "describe_shape",
    "estimate",
    "estimate_hinge",
    "find_repetitions",
    "find_runs",
    "find_tare",
    "friction_share",
    "inertia_at_tempo_n",
    "join_clock",
    "load_results",
    "prepare",
    "profile_summary",
    "profile_table",
    "recorded_zeros",
    "save_results",
    "summarize_findings",
]
