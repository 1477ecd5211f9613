"""What certificates report, in words: doubts, what a loading did not show, sources, what became of turns."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from feltload.acquisition import ForceCertificate
from feltload.app.text.common import Sentence
from feltload.calibration import (
    CertificateFact,
    ForceCertificateFact,
    ForceSource,
    InertialCertificateFact,
    TurnRemark,
)
from feltload.core import Fact

_SOURCES: Final[Mapping[str, str]] = {
    ForceSource.APPLIED_FORCE: "applied force",
    ForceSource.WEIGHTS: "weights",
    ForceSource.GRAVITY: "gravity",
    ForceSource.AIR_BUOYANCY: "air buoyancy",
    ForceSource.SCATTER: "scatter of one reading",
    ForceSource.HYSTERESIS: "hysteresis, ± half of it",
    ForceSource.RESOLUTION: "resolution",
    ForceSource.CREEP: "creep",
}
_REMARKS: Final[Mapping[str, str]] = {
    TurnRemark.SAMPLES_MISSING: "samples are missing in it",
    TurnRemark.GRAVITY_ELSEWHERE: (
        "gravity is not where the gyro carries it: the gyro was at its limit, or the sensor was pushed"
    ),
    TurnRemark.FURTHER_OFF: "further off than the others",
    TurnRemark.ABOUT_VERTICAL: "about the vertical: gravity does not show its size; state it",
}


def source_text(source: str) -> str:
    """A source of uncertainty; certificates of an older format have words already."""
    return _SOURCES.get(source, source)


def remark_text(remark: str) -> str:
    """What became of a turn; certificates of an older format have words already."""
    return _REMARKS.get(remark, remark)


def degree_text(certificate: ForceCertificate) -> str:
    """Why the curve has its degree."""
    test, degree = certificate.degree_test, len(certificate.coefficients_n) - 1
    if test is None:
        return certificate.degree_evidence
    if test.ratio is None or test.needed is None:
        return f"degree {degree}: no higher degree passes the F test of ASTM E74 A1 over {test.loads} loads"
    return (
        f"degree {degree}: it lowers the residual of degree {degree - 1} by a factor {test.ratio:.2f} over "
        f"{test.loads} loads, more than the {test.needed:.2f} of ASTM E74 A1"
    )


def _few(what: str) -> Sentence:
    return lambda fact: f"{fact.figure('count'):.0f} of {fact.figure('needed'):.0f} {what}"


def _turns_not_used(fact: Fact) -> str:
    shown = [number for number in (1, 2, 3) if f"turn_{number}_s" in fact.figures]
    times = ", ".join(
        f"{fact.figure(f'turn_{number}_s'):.1f} s ({remark_text(str(fact.figures.get(f'turn_{number}_remark') or ''))})"
        for number in shown
    )
    not_used = fact.figure("not_used")
    more = " ..." if not_used > len(shown) else ""
    return f"{not_used:.0f} of {fact.figure('turns'):.0f} turns not used: {times}{more}"


def _turn_worth_stating(fact: Fact) -> str:
    start, end = fact.span_s or (math.nan, math.nan)
    return (
        f"a turn of {math.degrees(fact.figure('angle_rad')):.1f}° about {fact.figures.get('axis')} would show its "
        f'scale if its angle was known: --turn "{start:.1f} s, {end:.1f} s, {fact.figure("probably_deg"):.1f}(0.5) deg"'
    )


SENTENCES: Mapping[str, Sentence] = {
    ForceCertificateFact.WEIGHTS_WITHOUT_U: lambda fact: (
        f"no uncertainty stated for the weights: treated as stamped plates, ±{fact.figure('within_percent'):g} %; "
        "weigh them"
    ),
    ForceCertificateFact.LATITUDE_NOT_STATED: lambda fact: (
        "latitude not stated: standard gravity, good to 0.15 %"
    ),
    ForceCertificateFact.TEMPERATURE_MOVED: lambda fact: (
        f"temperature moved by {fact.figure('change_k'):.1f} °C during the readings; ISO 376 asks for ±1 °C"
    ),
    ForceCertificateFact.FEW_SERIES: _few("series"),
    ForceCertificateFact.FEW_READINGS: _few("readings"),
    ForceCertificateFact.FEW_LOADS: _few("loads"),
    ForceCertificateFact.NOT_TURNED: lambda fact: (
        "reproducibility: the cell was not turned to three positions"
    ),
    ForceCertificateFact.ONE_DIRECTION: lambda fact: "reversibility: one direction only",
    ForceCertificateFact.NO_ZERO_AFTER: lambda fact: "zero after a series",
    ForceCertificateFact.NO_CREEP: lambda fact: "creep",
    CertificateFact.WITHOUT_READINGS: lambda fact: (
        f"the certificate of {fact.figures['serial']} carries no readings: it cannot be checked"
    ),
    CertificateFact.SIGNED: lambda fact: (
        f"the certificate of {fact.figures['serial']} is signed by {fact.figures['by'] or 'someone not named'}, "
        f"key {fact.figures['fingerprint']}"
    ),
    InertialCertificateFact.AXIS_ANGLES_NOT_SHOWN: lambda fact: (
        f"{fact.figure('attitudes'):.0f} attitudes do not show the angles between the axes: twelve or more do"
    ),
    InertialCertificateFact.SCALE_NOT_CALIBRATED: lambda fact: (
        f"gyro scale of {', '.join(str(fact.figures.get('axes', '')))} not calibrated: no turn about it that shows it, "
        "treated as good to 1 %"
    ),
    InertialCertificateFact.TURNS_NOT_USED: _turns_not_used,
    InertialCertificateFact.TURN_WORTH_STATING: _turn_worth_stating,
}
"""Kind -> what is said of it."""
