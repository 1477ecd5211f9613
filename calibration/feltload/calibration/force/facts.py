"""What the certificate of a load cell reports: doubts, what the loading did not show, sources of uncertainty."""

from __future__ import annotations

from enum import StrEnum


class ForceCertificateFact(StrEnum):
    """A doubt about a certificate, or something that its loading did not show."""

    WEIGHTS_WITHOUT_U = "weights-without-uncertainty"
    LATITUDE_NOT_STATED = "latitude-not-stated"
    TEMPERATURE_MOVED = "temperature-moved"
    FEW_SERIES = "few-series"
    FEW_READINGS = "few-readings"
    FEW_LOADS = "few-loads"
    NOT_TURNED = "cell-not-turned"
    ONE_DIRECTION = "one-direction-only"
    NO_ZERO_AFTER = "no-zero-after-a-series"
    NO_CREEP = "no-creep"


class ForceSource(StrEnum):
    """Sources of uncertainty of a force reading."""

    APPLIED_FORCE = "applied-force"
    WEIGHTS = "weights"
    GRAVITY = "gravity"
    AIR_BUOYANCY = "air-buoyancy"
    SCATTER = "scatter-of-a-reading"
    HYSTERESIS = "hysteresis"
    RESOLUTION = "resolution"
    CREEP = "creep"
