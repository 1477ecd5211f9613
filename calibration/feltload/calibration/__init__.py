"""Sensor calibration, the geometric model of a machine, and agreement of profile and model."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feltload.acquisition.lazy_face import lazy_names
from feltload.calibration.certificate_page import certificate_page

if TYPE_CHECKING:
    from feltload.calibration.agreement import Agreement, check_agreement, write_agreement
    from feltload.calibration.drawing import draw_machine, save_drawing
    from feltload.calibration.errors import (
        AgreementError,
        AttitudesError,
        CalibrationError,
        GeometryError,
        MachineError,
        OverloadError,
        ReadingsError,
    )
    from feltload.calibration.field_check import FieldCheck, check_in_the_field
    from feltload.calibration.force_calibration import calibrate_force
    from feltload.calibration.force_plan import LoadStep, plan_steps
    from feltload.calibration.force_session import ForceSession
    from feltload.calibration.force_setup import ForceSetup
    from feltload.calibration.gravity import Gravity, local_gravity
    from feltload.calibration.inertial_certificate import calibrate_inertial
    from feltload.calibration.machine import Machine, load_machine, parse_machine
    from feltload.calibration.parameters import Parameter
    from feltload.calibration.recorded_check import RecordedCheck, recorded_checks
    from feltload.calibration.survey import SurveyItem, SurveyPlan, example_text, plan_survey
    from feltload.calibration.survey_fit import FittedDimension
    from feltload.calibration.swing import Swing, SwingCheck, check_recorded_swing, check_swing, measure_swing
    from feltload.calibration.turns import KnownTurn
else:
    # A name that is also its module's name is imported at once: the module would hide it.
    __getattr__ = lazy_names(
        __name__,
        {
            "agreement": "Agreement check_agreement write_agreement",
            "drawing": "draw_machine save_drawing",
            "errors": "AgreementError AttitudesError CalibrationError GeometryError MachineError OverloadError "
            "ReadingsError",
            "field_check": "FieldCheck check_in_the_field",
            "force_calibration": "calibrate_force",
            "force_plan": "LoadStep plan_steps",
            "force_session": "ForceSession",
            "force_setup": "ForceSetup",
            "gravity": "Gravity local_gravity",
            "inertial_certificate": "calibrate_inertial",
            "machine": "Machine load_machine parse_machine",
            "parameters": "Parameter",
            "recorded_check": "RecordedCheck recorded_checks",
            "survey": "SurveyItem SurveyPlan example_text plan_survey",
            "survey_fit": "FittedDimension",
            "swing": "Swing SwingCheck check_recorded_swing check_swing measure_swing",
            "turns": "KnownTurn",
        },
    )

__all__ = [
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
    "ReadingsError",
    "RecordedCheck",
    "SurveyItem",
    "SurveyPlan",
    "Swing",
    "SwingCheck",
    "calibrate_force",
    "calibrate_inertial",
    "certificate_page",
    "check_agreement",
    "check_in_the_field",
    "check_recorded_swing",
    "check_swing",
    "draw_machine",
    "example_text",
    "load_machine",
    "local_gravity",
    "measure_swing",
    "parse_machine",
    "plan_steps",
    "plan_survey",
    "recorded_checks",
    "save_drawing",
    "write_agreement",
]
