from .alignment.facts import AlignmentFact as AlignmentFact
from .alignment.lag import Lag as Lag, LagMethod as LagMethod, LagReading as LagReading
from .clock.facts import ClockFact as ClockFact
from .clock.joining import ClockFit as ClockFit, ClockPiece as ClockPiece, join_clock as join_clock
from .clock.stream import ClockStream as ClockStream
from .compliance.facts import ComplianceFact as ComplianceFact
from .errors import (
    ClockError as ClockError,
    MotionError as MotionError,
    ProfileError as ProfileError,
    ResultsError as ResultsError,
    SignalError as SignalError,
)
from .force_uncertainty import ForceUncertainty as ForceUncertainty
from .hinge.estimator import HingeMotion as HingeMotion, estimate_hinge as estimate_hinge
from .hinge.facts import HingeFact as HingeFact
from .hinge.parameters import HingeParameters as HingeParameters
from .hinge.stream import HingeStream as HingeStream, LiveMotion as LiveMotion
from .joined import JoinedTable as JoinedTable, joined_table as joined_table
from .movement.attitude import Attitude as Attitude
from .movement.grid import Series as Series
from .movement.movements import find_runs as find_runs
from .movement.positions import PositionScale as PositionScale, Travel as Travel
from .movement.travel import AngleKind as AngleKind, HandleTravel as HandleTravel
from .noise.densities import InertialNoise as InertialNoise
from .pipeline import Settings as Settings, estimate as estimate, prepare as prepare
from .profile.dataset import profile_dataset as profile_dataset
from .profile.estimate import ProfileEstimate as ProfileEstimate
from .profile.facts import FindingFact as FindingFact, ProfileFact as ProfileFact
from .profile.files.results import (
    CSV as CSV,
    JSON as JSON,
    MODEL as MODEL,
    load_results as load_results,
    save_results as save_results,
)
from .profile.files.summary import profile_summary as profile_summary
from .profile.findings import (
    FLAT_SHARE as FLAT_SHARE,
    SMOOTH_PEAK_ACCELERATION as SMOOTH_PEAK_ACCELERATION,
    Shape as Shape,
    describe_shape as describe_shape,
    friction_parts as friction_parts,
    friction_share as friction_share,
    inertia_at_tempo_n as inertia_at_tempo_n,
    mean_friction_n as mean_friction_n,
    summarize_findings as summarize_findings,
    tight_spots as tight_spots,
)
from .profile.force_model import ForceModel as ForceModel
from .profile.foreseen import foreseen_u95_n as foreseen_u95_n
from .profile.friction.band import FrictionBand as FrictionBand
from .profile.friction.by_load import FrictionByLoad as FrictionByLoad
from .profile.friction.tight_spots import TightSpot as TightSpot
from .profile.health import FieldCheckRecord as FieldCheckRecord, ProfileHealth as ProfileHealth
from .profile.method import ProfileMethod as ProfileMethod
from .profile.observed.felt_inertia import FeltInertia as FeltInertia, by_thirds as by_thirds
from .profile.repetitions import (
    Repetition as Repetition,
    find_repetitions as find_repetitions,
)
from .profile.scale import (
    placed as placed,
    travel_of as travel_of,
    whole_travel as whole_travel,
    with_positions as with_positions,
)
from .profile.sides import SideDifference as SideDifference, compare_sides as compare_sides
from .profile.uncertainty.budget_item import (
    BudgetBasis as BudgetBasis,
    BudgetItem as BudgetItem,
    BudgetSource as BudgetSource,
    budget_shares as budget_shares,
)
from .session import Reference as Reference, Session as Session
from .stops.estimate import estimate_at_stops as estimate_at_stops
from .stops.facts import StopsFact as StopsFact
from .stops.readings import PositionKind as PositionKind, StopReadings as StopReadings
from .stops.scale import HandScale as HandScale
from .stops.table import (
    TableOptions as TableOptions,
    position_kind as position_kind,
    read_stops as read_stops,
)
from .zero.facts import NoZero as NoZero, ZeroFact as ZeroFact
from .zero.recorded_zero import recorded_zeros as recorded_zeros
from .zero.tare import Tare as Tare, find_tare as find_tare
