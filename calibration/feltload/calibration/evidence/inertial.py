"""An inertial sensor's certificate against its own attitudes: the accelerometer is fitted once more and compared."""

from __future__ import annotations

from typing import Final

import numpy as np

from feltload.acquisition import InertialCertificate
from feltload.calibration.inertial.accelerometer import calibrate_accelerometer
from feltload.calibration.weights.gravity import Gravity

_SAME: Final = 1e-6
_LARGEST_GYRO_TERM: Final = 0.2
"""Scale and cross-axis terms of a gyro are off by a few percent; a fifth is no gyro (common practice, no source)."""


def contradiction(certificate: InertialCertificate) -> str | None:
    """What in a certificate does not follow from its attitudes; None where all does.

    The gyro's terms rest on samples, which a certificate does not carry: they are only compared with what gyros are.

    Raises
    ------
    AttitudesError
        The attitudes alone calibrate nothing.
    """
    if np.max(np.abs(np.asarray(certificate.gyro_matrix) - np.eye(3))) > _LARGEST_GYRO_TERM:
        return "its gyro terms are none of a gyro"
    if not certificate.attitudes:
        return None
    gravity = Gravity(certificate.gravity_m_s2, certificate.gravity_u_m_s2, certificate.gravity_source)
    refitted = calibrate_accelerometer([item.accel_m_s2 for item in certificate.attitudes], gravity)
    for name, stated, found in (
        ("offsets of its accelerometer", certificate.accel_offset_m_s2, refitted.offset_m_s2),
        ("scales of its accelerometer", certificate.accel_matrix, refitted.matrix),
        (
            "residuals of its attitudes",
            [item.residual_m_s2 for item in certificate.attitudes],
            refitted.residual_m_s2,
        ),
    ):
        if np.max(np.abs(np.asarray(stated) - found)) > _SAME:
            return f"the {name} are not those of its attitudes"
    shown = np.diag(np.asarray(certificate.parameter_covariance))[:9]
    if np.any(shown < (1.0 - 1e-3) * np.diag(refitted.covariance)):
        return "the uncertainties of its accelerometer are below what its attitudes show"
    return None
