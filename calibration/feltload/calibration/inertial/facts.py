"""What the certificate of an inertial sensor reports: doubts, what became of turns, what would tell more."""

from __future__ import annotations

from enum import StrEnum


class InertialCertificateFact(StrEnum):
    """A doubt about a certificate, or what would make it better."""

    AXIS_ANGLES_NOT_SHOWN = "axis-angles-not-shown"
    SCALE_NOT_CALIBRATED = "gyro-scale-not-calibrated"
    TURNS_NOT_USED = "turns-not-used"
    TURN_WORTH_STATING = "turn-worth-stating"


class TurnRemark(StrEnum):
    """Why a turn was not used, or what it could be used for."""

    SAMPLES_MISSING = "samples-missing"
    GRAVITY_ELSEWHERE = "gravity-elsewhere"
    FURTHER_OFF = "further-off"
    ABOUT_VERTICAL = "about-vertical"
