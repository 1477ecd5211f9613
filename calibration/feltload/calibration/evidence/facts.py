"""What a certificate rests on, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class CertificateFact(StrEnum):
    """Why a certificate may or may not be relied on. Figure `serial`."""

    WITHOUT_READINGS = "certificate-without-readings"
    """Nothing in it shows whether it is as the calibration wrote it."""

    SIGNED = "certificate-signed"
    """Figures `by` and `fingerprint`."""
