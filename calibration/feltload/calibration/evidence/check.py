"""The check of a certificate of either kind, made wherever one is loaded to be used."""

from __future__ import annotations

from feltload.acquisition import AnyCertificate, CertificateError, ForceCertificate, key_fingerprint
from feltload.calibration.errors import CalibrationError
from feltload.calibration.evidence import force, inertial
from feltload.calibration.evidence.facts import CertificateFact
from feltload.core import Fact, Figure, Severity

_REMEDY = "take the file as the calibration wrote it, or calibrate again"


def check_certificate(certificate: AnyCertificate, *, where: str) -> tuple[Fact, ...]:
    """Compare a certificate with the readings in it.

    Parameters
    ----------
    certificate : ForceCertificate or InertialCertificate
    where : str
        Its file, for messages.

    Returns
    -------
    tuple of Fact
        Of kinds `CertificateFact`: that it carries no readings, or who signed it.

    Raises
    ------
    CertificateError
        What is stated in it does not follow from its readings.
    """
    facts = []
    try:
        wrong = _contradiction(certificate)
    except CalibrationError as error:
        wrong = f"what it carries makes no certificate ({error.what})"
    if wrong is not None:
        raise CertificateError(
            f"the certificate of {certificate.serial} contradicts itself: {wrong}",
            where=where,
            remedy=_REMEDY,
        )
    if not (certificate.readings if isinstance(certificate, ForceCertificate) else certificate.attitudes):
        figures: dict[str, Figure] = {"serial": certificate.serial}
        facts.append(Fact(CertificateFact.WITHOUT_READINGS, figures=figures))
    if certificate.signature is not None:
        figures = {
            "serial": certificate.serial,
            "by": certificate.calibrated_by,
            "fingerprint": key_fingerprint(certificate.signature.public_key),
        }
        facts.append(Fact(CertificateFact.SIGNED, Severity.NOTE, figures=figures))
    return tuple(facts)


def _contradiction(certificate: AnyCertificate) -> str | None:
    """What does not follow from what the certificate carries; None where all does, and where it carries nothing."""
    if isinstance(certificate, ForceCertificate):
        return force.contradiction(certificate) if certificate.readings else None
    return inertial.contradiction(certificate)
