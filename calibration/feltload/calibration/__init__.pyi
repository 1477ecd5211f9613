from .agreement.agreement import (
    Agreement as Agreement,
)
from .agreement.agreement import (
    check_agreement as check_agreement,
)
from .agreement.agreement import (
    write_agreement as write_agreement,
)
from .agreement.survey_fit import (
    FittedDimension as FittedDimension,
)
from .agreement.swing import (
    Swing as Swing,
)
from .agreement.swing import (
    SwingCheck as SwingCheck,
)
from .agreement.swing import (
    check_recorded_swing as check_recorded_swing,
)
from .agreement.swing import (
    check_swing as check_swing,
)
from .agreement.swing import (
    measure_swing as measure_swing,
)
from .errors import (
    AgreementError as AgreementError,
)
from .errors import (
    AttitudesError as AttitudesError,
)
from .errors import (
    CalibrationError as CalibrationError,
)
from .errors import (
    GeometryError as GeometryError,
)
from .errors import (
    MachineError as MachineError,
)
from .errors import (
    OverloadError as OverloadError,
)
from .errors import (
    ReadingsError as ReadingsError,
)
from .field.field_check import (
    FieldCheck as FieldCheck,
)
from .field.field_check import (
    check_in_the_field as check_in_the_field,
)
from .field.recorded_check import (
    RecordedCheck as RecordedCheck,
)
from .field.recorded_check import (
    recorded_checks as recorded_checks,
)
from .field.recorded_check import (
    refuse_overload as refuse_overload,
)
from .field.recorded_check import (
    weight_force as weight_force,
)
from .force.calibration import (
    calibrate_force as calibrate_force,
)
from .force.plan import (
    LoadStep as LoadStep,
)
from .force.plan import (
    plan_steps as plan_steps,
)
from .force.readings import (
    ReadingUnit as ReadingUnit,
)
from .force.readings import (
    parse_head as parse_head,
)
from .force.readings import (
    read_readings as read_readings,
)
from .force.readings import (
    readings_text as readings_text,
)
from .force.readings_rows import (
    READINGS_COLUMNS as READINGS_COLUMNS,
)
from .force.readings_rows import (
    readings_row as readings_row,
)
from .force.readings_rows import (
    taken_readings as taken_readings,
)
from .force.session import (
    ForceSession as ForceSession,
)
from .force.session import (
    TakenReading as TakenReading,
)
from .force.setup import (
    ForceSetup as ForceSetup,
)
from .inertial.certificate import (
    calibrate_inertial as calibrate_inertial,
)
from .inertial.turns import (
    KnownTurn as KnownTurn,
)
from .machine.drawing import (
    draw_machine as draw_machine,
)
from .machine.drawing import (
    save_drawing as save_drawing,
)
from .machine.drawing import (
    side_view as side_view,
)
from .machine.machine import (
    Machine as Machine,
)
from .machine.machine import (
    load_machine as load_machine,
)
from .machine.machine import (
    parse_machine as parse_machine,
)
from .machine.mechanisms import (
    MECHANISMS as MECHANISMS,
)
from .machine.mechanisms.masses import (
    RidingMass as RidingMass,
)
from .machine.parameters import (
    Parameter as Parameter,
)
from .machine.survey import (
    SurveyItem as SurveyItem,
)
from .machine.survey import (
    SurveyPlan as SurveyPlan,
)
from .machine.survey import (
    example_text as example_text,
)
from .machine.survey import (
    plan_survey as plan_survey,
)
from .weights.gravity import (
    Gravity as Gravity,
)
from .weights.gravity import (
    local_gravity as local_gravity,
)

__all__ = [
    "MECHANISMS",
    "READINGS_COLUMNS",
    "Agreement",
    "AgreementError",
    "AttitudesError",
    "CalibrationError",
    "FieldCheck",
    "FittedDimension",
    "ForceSession",
    "ForceSetup",
    "GeometryError",
    "Gravity",
    "KnownTurn",
    "LoadStep",
    "Machine",
    "MachineError",
    "OverloadError",
    "Parameter",
    "ReadingUnit",
    "ReadingsError",
    "RecordedCheck",
    "RidingMass",
    "SurveyItem",
    "SurveyPlan",
    "Swing",
    "SwingCheck",
    "TakenReading",
    "calibrate_force",
    "calibrate_inertial",
    "check_agreement",
    "check_in_the_field",
    "check_recorded_swing",
    "check_swing",
    "draw_machine",
    "example_text",
    "load_machine",
    "local_gravity",
    "measure_swing",
    "parse_head",
    "parse_machine",
    "plan_steps",
    "plan_survey",
    "read_readings",
    "readings_row",
    "readings_text",
    "recorded_checks",
    "refuse_overload",
    "save_drawing",
    "side_view",
    "taken_readings",
    "weight_force",
    "write_agreement",
]
