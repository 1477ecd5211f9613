"""Sensor calibration, the geometric model of a machine, and agreement of profile and model."""

from __future__ import annotations

from feltload.calibration.certificate_page import certificate_page
from feltload.calibration.errors import AttitudesError, OverloadError, ReadingsError
from feltload.calibration.field_check import FieldCheck, check_in_the_field
from feltload.calibration.force_calibration import calibrate_force
from feltload.calibration.force_setup import ForceSetup
from feltload.calibration.gravity import Gravity, local_gravity
from feltload.calibration.inertial_certificate import KnownTurn, calibrate_inertial

__all__ = [
    "AttitudesError",
    "FieldCheck",
    "ForceSetup",
    "Gravity",
    "KnownTurn",
    "OverloadError",
    "ReadingsError",
    "calibrate_force",
    "calibrate_inertial",
    "certificate_page",
    "check_in_the_field",
    "local_gravity",
]
