"""One known weight against a certificate: does the cell still agree?

E_n as in ISO/IEC 17043 and ISO 13528 (from memory): difference over the root of the summed squared expanded
uncertainties; at most 1 agrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from feltload.acquisition import ForceCertificate
from feltload.core import InputError


@dataclass(frozen=True)
class FieldCheck:
    """Outcome of a field check.

    Attributes
    ----------
    applied_n, measured_n : float
        Force of the weight, and force by the certificate.
    u95_applied_n, u95_measured_n : float
        Expanded uncertainties, k = 2.
    en : float
    agrees : bool
    text : str
        The outcome in one line.
    """

    applied_n: float
    measured_n: float
    u95_applied_n: float
    u95_measured_n: float
    en: float
    agrees: bool
    text: str


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
    en = (measured - applied_n) / (2 * math.hypot(u_measured, u_applied_n))
    agrees = abs(en) <= 1
    advice = (
        "the certificate still holds"
        if agrees
        else "do not use the certificate: look for a bent shackle, a side load or an overload, then calibrate again"
    )
    return FieldCheck(
        applied_n,
        measured,
        2 * u_applied_n,
        2 * u_measured,
        en,
        agrees,
        f"{measured:.2f} N measured, {applied_n:.2f} N applied, E_n {en:+.2f}: {advice}",
    )
