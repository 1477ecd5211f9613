"""One known weight against a certificate: does the cell still agree?

E_n as in ISO/IEC 17043 and ISO 13528 (from memory): difference over the root of the summed squared expanded
uncertainties; at most 1 agrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from feltload.acquisition import ForceCertificate
from feltload.core import EXPANDED_COVERAGE_K, InputError


class FieldCheckFact(StrEnum):
    """What a known weight on the cell shows."""

    AGREES = "field-check-agrees"
    DIFFERS = "field-check-differs"
    ABOVE_CAPACITY = "field-check-above-capacity"
    OUT_OF_RANGE = "field-check-out-of-range"
    WITHOUT_CERTIFICATE = "field-check-without-certificate"
    READING_ONLY = "field-check-reading-only"
    WITHOUT_READINGS = "field-check-without-readings"


@dataclass(frozen=True)
class FieldCheck:
    """Outcome of a field check.

    Attributes
    ----------
    applied_n, u_applied_n : float
        Force of the weight, and its standard uncertainty.
    measured_n, u_measured_n : float
        Force by the certificate, and its standard uncertainty.
    """

    applied_n: float
    u_applied_n: float
    measured_n: float
    u_measured_n: float

    @property
    def en(self) -> float:
        """E_n with expanded uncertainties, k = 2."""
        together = EXPANDED_COVERAGE_K * math.hypot(self.u_measured_n, self.u_applied_n)
        return (self.measured_n - self.applied_n) / together

    @property
    def agrees(self) -> bool:
        """Whether the certificate still holds."""
        return abs(self.en) <= 1.0


def covers(certificate: ForceCertificate, force_n: float) -> bool:
    """Whether a weight may hang on the cell, within the range that was calibrated."""
    capacity = certificate.rated_capacity_n
    return 0.0 < force_n <= certificate.highest_n and (capacity is None or force_n <= capacity)


def check_in_the_field(
    certificate: ForceCertificate,
    *,
    applied_n: float,
    u_applied_n: float,
    reading_zero: float,
    reading_loaded: float,
) -> FieldCheck:
    """Hang one known weight and compare.

    Raises
    ------
    InputError
        The weight is outside the range calibrated, or above rated capacity.
    """
    capacity = certificate.rated_capacity_n
    if capacity is not None and applied_n > capacity:
        raise InputError(
            f"{applied_n:.0f} N exceeds the rated capacity of {capacity:.0f} N",
            remedy="take a lighter weight; do not hang this one",
        )
    if not 0 < applied_n <= certificate.highest_n:
        raise InputError(
            f"{applied_n:.0f} N is outside the calibrated range, up to {certificate.highest_n:.0f} N",
            remedy="take a weight within it",
        )
    shift = certificate.zero_reading - reading_zero
    measured = float(certificate.force_n(reading_loaded + shift) - certificate.force_n(reading_zero + shift))
    # The zero is one more reading, with its own scatter.
    u_measured = math.hypot(float(certificate.u_force_n(measured)), certificate.lower_limit.residual_sd_n)
    return FieldCheck(applied_n, u_applied_n, measured, u_measured)
