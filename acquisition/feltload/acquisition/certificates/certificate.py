"""Calibration certificates as files, and their application to readings.

A certificate is computed once by the calibration layer and stored as JSON. Applying one never
touches a recording: raw readings stay as they arrived, and a later certificate applies to old ones.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import pydantic
from pydantic import Field

from feltload.acquisition.certificates.force import (
    ClassResult,
    DegreeTest,
    ForceCertificate,
    ForceReading,
    LowerLimit,
    StepErrors,
    Uncertainty,
)
from feltload.acquisition.certificates.head import Certificate, Environment
from feltload.acquisition.certificates.inertial import (
    Attitude,
    InertialCertificate,
    NoiseDensities,
    TurnRecord,
)
from feltload.acquisition.errors import CertificateError

__all__ = [
    "AnyCertificate",
    "Attitude",
    "Certificate",
    "ClassResult",
    "DegreeTest",
    "Environment",
    "ForceCertificate",
    "ForceReading",
    "InertialCertificate",
    "LowerLimit",
    "NoiseDensities",
    "StepErrors",
    "TurnRecord",
    "Uncertainty",
    "certificate_json",
    "parse_certificate",
]

AnyCertificate = ForceCertificate | InertialCertificate
_ADAPTER: pydantic.TypeAdapter[AnyCertificate] = pydantic.TypeAdapter(
    Annotated[AnyCertificate, Field(discriminator="kind")]
)


def parse_certificate(text: str | bytes, *, where: str | None = None) -> AnyCertificate:
    """Read a certificate from its JSON text.

    Raises
    ------
    CertificateError
        Not JSON, an unknown key, a missing key or a value out of range, with its key; dated in the
        future; changed after it was signed.
    """
    try:
        certificate = _ADAPTER.validate_json(text)
    except pydantic.ValidationError as error:
        first = error.errors(include_url=False)[0]
        key = ".".join(str(part) for part in first["loc"]) or "file"
        raise CertificateError(
            f"not a usable certificate: {key}: {first['msg'].removeprefix('Value error, ')}",
            where=where,
            remedy="take the file as the calibration wrote it, or calibrate again",
        ) from error
    certificate.require_past(dt.date.today(), where=where)
    if certificate.signature is not None:
        # It loads slowly, and most certificates have none.
        from feltload.acquisition.certificates.signature import verify_signature

        verify_signature(text, certificate.signature, where=where)
    return certificate


def certificate_json(certificate: AnyCertificate) -> str:
    """JSON text of a certificate, as written to its file."""
    return certificate.model_dump_json(indent=1) + "\n"
