"""Accelerometer and gyro corrections from still attitudes, by Gauss-Newton on the size of gravity.

At rest a perfect accelerometer reads gravity, whichever way it lies. Offsets and scales are what makes
all still readings the same size; with nine or more attitudes the angles between its axes follow too
(with fewer they stay at their prior). What a gyro reads at rest is its bias.

Source of the method, from memory: I. Frosio, F. Pedersini, N. A. Borghese, IEEE Trans. Instrum. Meas. 58 (2009)
2034-2041.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from feltload.calibration.errors import AttitudesError
from feltload.calibration.weights.gravity import Gravity
from feltload.core import Floats

FEWEST_ATTITUDES: Final = 6
# Priors that only matter where the attitudes say nothing: 1 m/s^2, 10 %, and half a degree between axes.
_PRIOR_SD: Final = np.array([1.0] * 3 + [0.1] * 3 + [0.0087] * 3)
ACCEL_PARAMETERS: Final = (
    *(f"accel_offset_{axis}" for axis in "xyz"),
    *(f"accel_scale_{axis}" for axis in "xyz"),
    *(f"accel_misalignment_{pair}" for pair in ("xy", "xz", "yz")),
)


@dataclass(frozen=True)
class AccelCalibration:
    """``true = matrix @ (raw - offset)`` with covariance in the order of `ACCEL_PARAMETERS`.

    Attributes
    ----------
    offset_m_s2 : ndarray (3,)
    matrix : ndarray (3, 3)
        Upper triangular: scales on the diagonal, angles between the axes above it.
    covariance : ndarray (9, 9)
    residual_m_s2 : ndarray (n,)
        Size of gravity after correction, less gravity.
    misalignment_found : bool
        The attitudes determined the angles between the axes; otherwise they rest on their prior.
    """

    offset_m_s2: Floats
    matrix: Floats
    covariance: Floats
    residual_m_s2: Floats
    misalignment_found: bool


def _matrix(parameters: Floats) -> Floats:
    kx, ky, kz, xy, xz, yz = parameters[3:]
    return np.array([[kx, xy, xz], [0.0, ky, yz], [0.0, 0.0, kz]])


def _residual_and_jacobian(parameters: Floats, raw: Floats, g: float) -> tuple[Floats, Floats]:
    matrix = _matrix(parameters)
    shifted = raw - parameters[:3]
    true = shifted @ matrix.T
    size = np.linalg.norm(true, axis=1)
    unit = true / size[:, None]
    jacobian = np.column_stack(
        [
            -unit @ matrix,
            unit * shifted,
            unit[:, 0] * shifted[:, 1],
            unit[:, 0] * shifted[:, 2],
            unit[:, 1] * shifted[:, 2],
        ]
    )
    return size - g, jacobian


def calibrate_accelerometer(
    mean_accel_m_s2: ArrayLike, gravity: Gravity, *, u_mean_m_s2: float = 0.01, least_u_m_s2: float = 0.0
) -> AccelCalibration:
    """Offsets, scales and angles between axes from mean readings in still attitudes.

    Parameters
    ----------
    mean_accel_m_s2 : array_like (n, 3)
        One mean reading per distinct attitude.
    gravity : Gravity
        Local gravity; its uncertainty is common to all scales.
    u_mean_m_s2 : float
        Standard uncertainty of one mean before its scatter is known.
    least_u_m_s2 : float
        The same by the sensor's noise alone: a few attitudes may by chance scatter less than that.

    Raises
    ------
    AttitudesError
        Fewer than six attitudes, or attitudes that leave an offset or a scale undetermined.
    """
    raw = np.asarray(mean_accel_m_s2, dtype=float)
    if len(raw) < FEWEST_ATTITUDES:
        raise AttitudesError(
            f"{len(raw)} still attitudes found, {FEWEST_ATTITUDES} are the fewest",
            remedy="rest the sensor on each of its six faces for two seconds or more",
        )
    parameters = np.array([0.0] * 3 + [1.0] * 3 + [0.0] * 3)
    prior = parameters.copy()
    weight = np.diag(_PRIOR_SD**-2)
    sd = u_mean_m_s2
    for _ in range(50):
        residual, jacobian = _residual_and_jacobian(parameters, raw, gravity.value)
        normal = jacobian.T @ jacobian / sd**2 + weight
        step = np.linalg.solve(normal, jacobian.T @ residual / sd**2 + weight @ (parameters - prior))
        parameters = parameters - step
        if np.abs(step).max() < 1e-13:
            break
    residual, jacobian = _residual_and_jacobian(parameters, raw, gravity.value)
    freedom = len(raw) - 9
    if freedom >= 1:
        sd = max(float(np.sqrt(residual @ residual / freedom)), least_u_m_s2, 1e-6)
    covariance = np.linalg.inv(jacobian.T @ jacobian / sd**2 + weight)
    spread = np.sqrt(np.diag(covariance))
    weak = [
        name for name, u, start in zip(ACCEL_PARAMETERS, spread, _PRIOR_SD, strict=True) if u > 0.2 * start
    ]
    undetermined = [name for name in weak if "misalignment" not in name]
    if undetermined:
        axis = undetermined[0][-1]
        raise AttitudesError(
            f"the attitudes do not span: {', '.join(undetermined)} cannot be determined",
            remedy=f"add attitudes with the {axis} axis up and with it down",
        )
    common = np.zeros(9)
    common[3:] = parameters[3:] * gravity.u / gravity.value
    return AccelCalibration(
        parameters[:3], _matrix(parameters), covariance + np.outer(common, common), residual, not weak
    )
