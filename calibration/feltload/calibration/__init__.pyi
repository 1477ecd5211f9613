from .agreement.compare import check_agreement as check_agreement
from .agreement.explanation import (
    CauseKind as CauseKind,
    CauseSet as CauseSet,
    CurvePoint as CurvePoint,
    Explanation as Explanation,
    ExplanationKind as ExplanationKind,
    LoadInstead as LoadInstead,
    Moved as Moved,
)
from .agreement.explanations.sensor_place import StartHint as StartHint
from .agreement.facts import AgreementFact as AgreementFact
from .agreement.joint.observations import BesideRow as BesideRow, Observation as Observation
from .agreement.joint.tilt import MeasuredTilt as MeasuredTilt
from .agreement.joint.unseen import Addition as Addition, Unseen as Unseen
from .agreement.loads import FittedLoad as FittedLoad
from .agreement.record import (
    explanation_record as explanation_record,
    swing_record as swing_record,
    write_agreement as write_agreement,
)
from .agreement.recordings import (
    StrangeLoad as StrangeLoad,
    agreement_facts as agreement_facts,
    compare_coarsely as compare_coarsely,
    strange_load as strange_load,
)
from .agreement.result import Agreement as Agreement, AgreementVerdict as AgreementVerdict
from .agreement.survey_fit import FittedDimension as FittedDimension
from .agreement.swing import (
    Swing as Swing,
    SwingCheck as SwingCheck,
    check_recorded_swing as check_recorded_swing,
    check_swing as check_swing,
    measure_swing as measure_swing,
)
from .cams.checks import check_cam as check_cam
from .cams.designed import CamDesign as CamDesign, design_cam as design_cam
from .cams.facts import CamFact as CamFact
from .cams.outline import WITHIN_M as WITHIN_M, CamOutline as CamOutline, cam_outline as cam_outline
from .cams.synthesis import (
    CamTable as CamTable,
    WantedForce as WantedForce,
    cam_rows as cam_rows,
    synthesise_cam as synthesise_cam,
    with_cam as with_cam,
)
from .design.facts import DesignFact as DesignFact
from .design.free import FreeDimension as FreeDimension, free_dimension as free_dimension
from .design.knowing import FreeCombination as FreeCombination
from .design.problem import Demand as Demand, design_travel as design_travel
from .design.proposal import (
    DesignedCurve as DesignedCurve,
    Proposal as Proposal,
    ProposedDimension as ProposedDimension,
)
from .design.proposing import propose_design as propose_design
from .design.relief import Relief as Relief
from .design.rewriting import rewrite_cam as rewrite_cam, rewrite_dimensions as rewrite_dimensions
from .design.stages import Stage as Stage
from .design.tolerances import (
    ToleranceOf as ToleranceOf,
    ToleranceStudy as ToleranceStudy,
    general_tolerance as general_tolerance,
)
from .design.trade_off import Conflict as Conflict, TradeOff as TradeOff, Yielding as Yielding
from .errors import (
    AgreementError as AgreementError,
    AttitudesError as AttitudesError,
    CalibrationError as CalibrationError,
    DesignError as DesignError,
    GeometryError as GeometryError,
    MachineError as MachineError,
    OverloadError as OverloadError,
    ReadingsError as ReadingsError,
    TargetError as TargetError,
)
from .evidence.check import check_certificate as check_certificate
from .evidence.facts import CertificateFact as CertificateFact
from .field.check import (
    FieldCheck as FieldCheck,
    FieldCheckFact as FieldCheckFact,
    check_in_the_field as check_in_the_field,
)
from .field.recorded_check import (
    RecordedCheck as RecordedCheck,
    recorded_checks as recorded_checks,
    refuse_overload as refuse_overload,
    weight_force as weight_force,
)
from .force.calibration import calibrate_force as calibrate_force
from .force.facts import ForceCertificateFact as ForceCertificateFact, ForceSource as ForceSource
from .force.plan import LoadStep as LoadStep, plan_steps as plan_steps
from .force.readings import (
    parse_head as parse_head,
    read_readings as read_readings,
    readings_text as readings_text,
)
from .force.readings_columns import ReadingUnit as ReadingUnit
from .force.readings_rows import (
    READINGS_COLUMNS as READINGS_COLUMNS,
    readings_row as readings_row,
    taken_readings as taken_readings,
)
from .force.session import (
    ForceSession as ForceSession,
    ForceSessionFact as ForceSessionFact,
    Progress as Progress,
    TakenReading as TakenReading,
)
from .force.setup import ForceSetup as ForceSetup
from .inertial.certificate import calibrate_inertial as calibrate_inertial
from .inertial.facts import InertialCertificateFact as InertialCertificateFact, TurnRemark as TurnRemark
from .inertial.turns import KnownTurn as KnownTurn
from .machine.asking.draft import (
    DraftPart as DraftPart,
    MachineDraft as MachineDraft,
    read_answer as read_answer,
)
from .machine.asking.question import (
    AnswerKind as AnswerKind,
    NeededFor as NeededFor,
    PartToAsk as PartToAsk,
    Question as Question,
)
from .machine.asking.questions import (
    machine_questions as machine_questions,
    mechanism_kinds as mechanism_kinds,
    part_links as part_links,
    part_questions as part_questions,
    parts_to_ask as parts_to_ask,
)
from .machine.drawing import (
    HandleMark as HandleMark,
    draw_machine as draw_machine,
    save_drawing as save_drawing,
    side_view as side_view,
)
from .machine.file import load_machine as load_machine, parse_machine as parse_machine
from .machine.machine import Machine as Machine
from .machine.mechanisms import MECHANISMS as MECHANISMS
from .machine.mechanisms.cable import Cable as Cable
from .machine.mechanisms.leaving import CableLeaving as CableLeaving
from .machine.mechanisms.masses import RidingMass as RidingMass
from .machine.parameters import (
    HINGE_INCLINATION as HINGE_INCLINATION,
    START_ANGLE as START_ANGLE,
    Parameter as Parameter,
    ParameterKey as ParameterKey,
    unit_symbol as unit_symbol,
)
from .machine.reference import reference_of as reference_of
from .machine.survey import (
    SurveyItem as SurveyItem,
    SurveyPlan as SurveyPlan,
    example_text as example_text,
    plan_survey as plan_survey,
)
from .prediction.arms import MomentArms as MomentArms, moment_arms as moment_arms
from .prediction.facts import PredictionFact as PredictionFact
from .prediction.friction import FrictionRange as FrictionRange
from .prediction.prediction import Prediction as Prediction, predict_profile as predict_profile
from .prediction.vary import (
    MOST_VARIANTS as MOST_VARIANTS,
    Variant as Variant,
    Varied as Varied,
    predict_variants as predict_variants,
)
from .shop.cam import CamPlate as CamPlate, cam_plate as cam_plate
from .shop.dimensions import drawn_dimensions as drawn_dimensions
from .shop.drawn import Sheet as Sheet
from .shop.dxf import save_cam_dxf as save_cam_dxf, save_sheet_dxf as save_sheet_dxf
from .shop.sheet import machine_sheet as machine_sheet
from .shop.svg import sheet_svg as sheet_svg
from .target.compatible import require_compatible as require_compatible
from .target.joint import is_by_joint as is_by_joint, target_by_joint as target_by_joint
from .target.judgement import (
    Judgement as Judgement,
    OffTarget as OffTarget,
    TargetVerdict as TargetVerdict,
    judge_target as judge_target,
)
from .target.phrase import parse_target as parse_target
from .target.placed import PlacedTarget as PlacedTarget, place_target as place_target
from .target.profile import judge_profile as judge_profile
from .target.record import TargetRecord as TargetRecord, judgement_record as judgement_record
from .target.table import (
    proportional_target as proportional_target,
    target_from_table as target_from_table,
)
from .target.target import (
    Target as Target,
    TargetAxis as TargetAxis,
    TargetScale as TargetScale,
)
from .weights.gravity import Gravity as Gravity, local_gravity as local_gravity
