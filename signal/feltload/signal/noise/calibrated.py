"""What a calibration certificate leaves unknown of an inertial sensor: the smoother's prior after it was applied."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import Floats
from feltload.signal.noise.densities import InertialNoise

if TYPE_CHECKING:
    from feltload.acquisition import InertialCertificate

#: What may change between calibration and use, by temperature, mounting and age: a gyro's scale, an accelerometer's
#: matrix (both relative) and its offsets in m/s². A few kelvin, common practice, no source.
GYRO_SCALE_STABILITY = 0.001
ACCEL_SCALE_STABILITY = 0.0005
ACCEL_OFFSET_STABILITY_M_S2 = 0.03
#: No bias walk is treated as smaller than this, rad/s per square root of a second.
LEAST_WALK = 1e-5

_SCALES = tuple(f"accel_scale_{axis}" for axis in "xyz")
_ANGLES = ("xy", "xz", "yz")


def calibrated_noise(
    certificate: InertialCertificate, axis: Floats, typical: InertialNoise | None = None
) -> InertialNoise:
    """Priors for samples to which a certificate was applied.

    Parameters
    ----------
    certificate : InertialCertificate
    axis : ndarray, shape (3,)
        Hinge axis in the sensor's frame: gyro axes count by their share in it, accelerometer axes by how they
        bend gravity's circle in the plane across it.
    typical : InertialNoise, optional
        Taken where the certificate is silent, or where its attitudes showed less than is usual anyway.

    Returns
    -------
    InertialNoise
    """
    usual = typical or InertialNoise()
    share = np.square(axis)
    scale = _turning_u(certificate, axis, usual.gyro_scale_u)
    offset = float(np.max(_each(certificate, "accel_offset", usual.accel_bias_u_m_s2)))
    matrix = float(np.hypot(_circle_u(certificate, axis), ACCEL_SCALE_STABILITY))
    known = replace(
        usual,
        gyro_scale_u=float(np.hypot(scale, GYRO_SCALE_STABILITY)),
        accel_bias_u_m_s2=min(float(np.hypot(offset, ACCEL_OFFSET_STABILITY_M_S2)), usual.accel_bias_u_m_s2),
        accel_scale_u=min(matrix, usual.accel_scale_u),
        accel_scale_limit_u=min(matrix, usual.accel_scale_limit_u),
    )
    noise = certificate.noise
    if noise is None:
        return known
    walks = [walk for walk in noise.gyro_random_walk_rad_s2_rthz if walk is not None]
    return replace(
        known,
        gyro_density_rad_s_rt_hz=float(np.sqrt(share @ np.square(noise.gyro_white_rad_s_rthz))),
        accel_density_m_s2_rt_hz=float(np.max(noise.accel_white_m_s2_rthz)),
        gyro_walk_rad_s_rt_s=(
            float(max(np.sqrt(share @ np.square(walks)), LEAST_WALK))
            if len(walks) == 3
            else usual.gyro_walk_rad_s_rt_s
        ),
    )


def _turning_u(certificate: InertialCertificate, axis: Floats, missing: float) -> float:
    """Relative uncertainty of the rate about the axis j: of j . dM j, with dM the error of the gyro's matrix."""
    names = certificate.parameter_names
    places = {f"gyro_scale_{a}": (k, k) for k, a in enumerate("xyz")}
    crossed = {
        f"gyro_misalignment_{a}{b}": ("xyz".index(a), "xyz".index(b)) for a, b in permutations("xyz", 2)
    }
    if not set(crossed) <= set(names):
        # Scales alone were stated. Turns against the same marks are wrong together, so shares add, not their squares.
        return float(np.square(axis) @ _each(certificate, "gyro_scale", missing))
    places |= crossed
    at = [names.index(name) for name in places]
    covariance = np.asarray(certificate.parameter_covariance)[np.ix_(at, at)]
    moves = np.array([axis[a] * axis[b] for a, b in places.values()])
    return float(np.sqrt(max(moves @ covariance @ moves, 0.0)))


def _each(certificate: InertialCertificate, name: str, missing: float) -> Floats:
    """Standard uncertainty of one parameter per axis."""
    names = [f"{name}_{axis}" for axis in "xyz"]
    return np.array([certificate.u(n) if n in certificate.parameter_names else missing for n in names])


def _circle_u(certificate: InertialCertificate, axis: Floats) -> float:
    """Relative departure of gravity's circle from round and flat that the matrix's uncertainty leaves, rms.

    With j the axis and dM the matrix's error, a vector a turning in the plane is seen with B + j x A = dM b + j x dM a,
    b = -j x a, and with j . dM a out of the plane. A scale common to all axes cancels.
    """
    names = certificate.parameter_names
    places = {name: (k, k) for k, name in enumerate(_SCALES)}
    for pair in _ANGLES:
        places[f"accel_misalignment_{pair}"] = ("xyz".index(pair[0]), "xyz".index(pair[1]))
    known = [name for name in places if name in names]
    if not set(_SCALES) <= set(known):
        return np.inf
    at = [names.index(name) for name in known]
    covariance = np.asarray(certificate.parameter_covariance)[np.ix_(at, at)]
    across = np.linalg.svd(axis[None, :])[2][1:]
    moves = np.zeros((2, 4, len(known)))
    for way, a in enumerate(across):
        b = -np.cross(axis, a)
        for column, name in enumerate(known):
            error = np.zeros((3, 3))
            error[places[name]] = 1.0
            moves[way, :3, column] = error @ b + np.cross(axis, error @ a)
            moves[way, 3, column] = axis @ error @ a
    return float(np.sqrt(np.mean(np.sum((moves @ covariance) * moves, axis=-1))))
