"""How well a session's force is known, apart from its noise: from certificate, tare and defaults."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import Floats

if TYPE_CHECKING:
    from feltload.acquisition import ForceCertificate

DEFAULT_GAIN_U = 0.005
"""Relative standard uncertainty of the force gain when no certificate states it.

A cell used with its data-sheet sensitivity and an unverified amplifier (common practice, no source)."""

DEFAULT_DRIFT_N_PER_MIN, DRIFT_SHARE_PER_MIN = 0.1, 5e-5
"""Drift of the zero when nothing states the capacity of the cell, and as a share of it: what a few kelvin in a quarter
of an hour make of the usual effect of temperature on zero (common practice, no source)."""

DEFAULT_ZERO_U_N = 0.2
"""Standard uncertainty of the force zero in N when no tare states it (common practice, no source)."""


@dataclass(frozen=True)
class ForceUncertainty:
    """How well the force is known, apart from its noise.

    Attributes
    ----------
    gain : float
        Relative standard uncertainty of the gain.
    zero_n : float
        Standard uncertainty of the zero in N.
    drift_n : float
        Standard uncertainty of the zero's drift over the session in N.
    gain_stated, zero_stated, drift_stated : bool
        False when the size is a default.
    drift_rate_n_per_min : float
        Standard deviation of the drift that a cell of this size is expected to have.
    certificate_serial : str
        Of the cell's certificate that gives the gain; empty without one.
    """

    gain: float = DEFAULT_GAIN_U
    zero_n: float = DEFAULT_ZERO_U_N
    drift_n: float = 0.0
    gain_stated: bool = False
    zero_stated: bool = False
    drift_stated: bool = False
    drift_rate_n_per_min: float = DEFAULT_DRIFT_N_PER_MIN
    certificate_serial: str = ""


def force_uncertainty(
    certificate: ForceCertificate | None,
    force_n: Floats,
    *,
    zero_u_n: float,
    zero_stated: bool,
    drift_n: float | None,
) -> ForceUncertainty:
    """Force uncertainty from certificate and tare; defaults where they are silent."""
    gain, serial, rate = DEFAULT_GAIN_U, "", DEFAULT_DRIFT_N_PER_MIN
    if certificate is not None:
        rate = DRIFT_SHARE_PER_MIN * (certificate.rated_capacity_n or certificate.highest_n)
    if certificate is not None and force_n.size:
        high = float(np.nanpercentile(np.abs(force_n), 95))
        if high > 0:
            # What the certificate leaves uncertain at the forces measured, taken as one common factor.
            gain, serial = float(certificate.u_force_n(high)) / high, certificate.serial
    return ForceUncertainty(
        gain=gain,
        # Without a tare the zero is at best as good as an instrument's that was just switched on.
        zero_n=zero_u_n if zero_stated else max(zero_u_n, DEFAULT_ZERO_U_N),
        drift_n=0.0 if drift_n is None else drift_n,
        gain_stated=certificate is not None,
        zero_stated=zero_stated,
        drift_stated=drift_n is not None,
        drift_rate_n_per_min=rate,
        certificate_serial=serial,
    )
