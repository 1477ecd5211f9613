"""What the accelerometer of a part on a hinge should read, and how that changes with every unknown.

With the angle theta about the axis j, the specific force in the sensor's frame is linear in five functions of time:

    a = C + A cos(theta) + B sin(theta) + D rate**2 + E acceleration

A turns with gravity in the plane of motion, C holds gravity along the axis and the offsets, D = -r and E = j x r
belong to the mount's radius vector r. An ideal accelerometer has B = -j x A and E = -j x D; scale errors and axes
that are not square bend these relations a little, so they are priors here, not constraints.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import upfirdn
from scipy.signal.windows import hann

from feltload.signal.hinge_data import HingeData
from feltload.signal.noise import InertialNoise

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

GRAVITY_M_S2 = 9.80665
#: The accelerometer's equations are kept at about this rate, behind a low-pass of a quarter of it.
EQUATION_HZ = 12.5
FUNCTIONS = 5
GLOBALS = 3 * FUNCTIONS + 2
SCALE, DELAY = 15, 16


@dataclass(frozen=True)
class Reduced:
    """Low-pass and decimation of columns on the working grid."""

    stride: int
    kernel: Array

    @classmethod
    def for_rate(cls, grid_hz: float) -> Reduced:
        stride = max(1, round(grid_hz / EQUATION_HZ))
        kernel = hann(4 * stride + 1)
        return cls(stride, kernel / kernel.sum())

    def __call__(self, columns: Array) -> Array:
        full = upfirdn(self.kernel, columns, up=1, down=self.stride, axis=0)
        last = (len(columns) - 1) // self.stride
        return np.asarray(full[4 : last + 1])

    def centres(self, count: int) -> NDArray[np.intp]:
        last = (count - 1) // self.stride
        return np.arange(2, last - 1) * self.stride


@dataclass(frozen=True)
class Equations:
    """The accelerometer's equations of one stretch.

    Attributes
    ----------
    data : HingeData
    reduce : Reduced
    time_s : ndarray, shape (e,)
    measured : ndarray, shape (e, 3)
        Low-passed specific force.
    trusted : ndarray of bool, shape (e,)
    """

    data: HingeData
    reduce: Reduced
    time_s: Array
    measured: Array
    trusted: Flags

    @classmethod
    def of(cls, data: HingeData) -> Equations:
        reduce = Reduced.for_rate(data.grid_hz)
        share = reduce(data.valid.astype(float))
        return cls(
            data, reduce, data.time_s[reduce.centres(len(data.time_s))], reduce(data.accel), share > 0.98
        )

    def functions(self, scale: float, drift: Array, drift_rate: Array) -> Array:
        """The five functions, shape (e, 5), for a scale error and a drift on the working grid."""
        theta = (1.0 + scale) * self.data.turned + drift
        rate = (1.0 + scale) * self.data.rate + drift_rate
        columns = np.column_stack(
            [np.ones_like(theta), np.cos(theta), np.sin(theta), rate**2, (1.0 + scale) * self.data.slope]
        )
        return self.reduce(columns)

    def linearise(self, unknown: Array, drift: Array, drift_rate: Array) -> Linearised:
        """Residuals and derivatives at the global unknowns (17,) and the drift on the working grid."""
        scale = unknown[SCALE]
        data = self.data
        coefficients = unknown[:15].reshape(FUNCTIONS, 3)
        theta = (1.0 + scale) * data.turned + drift
        rate = (1.0 + scale) * data.rate + drift_rate
        slope = (1.0 + scale) * data.slope
        cosine, sine = np.cos(theta), np.sin(theta)
        columns = np.column_stack(
            [
                np.ones_like(theta),
                cosine,
                sine,
                rate**2,
                slope,
                data.turned * cosine,
                data.turned * sine,
                rate * cosine,
                rate * sine,
                2.0 * rate * data.rate,
                data.slope,
                2.0 * rate * slope,
            ]
        )
        low = self.reduce(columns)
        _, a, b, d, e = coefficients
        by_angle = low[:, 1, None] * b - low[:, 2, None] * a
        by_scale = low[:, 5, None] * b - low[:, 6, None] * a + low[:, 9, None] * d + low[:, 10, None] * e
        by_delay = -(low[:, 7, None] * b - low[:, 8, None] * a + low[:, 11, None] * d)
        jacobian = np.zeros((len(low), 3, GLOBALS))
        for component in range(3):
            jacobian[:, component, component:15:3] = low[:, :FUNCTIONS]
        jacobian[:, :, SCALE] = by_scale
        jacobian[:, :, DELAY] = by_delay
        predicted = low[:, :FUNCTIONS] @ coefficients + unknown[DELAY] * by_delay
        return Linearised(self.measured - predicted, by_angle, jacobian)


@dataclass(frozen=True)
class Linearised:
    """Residuals (e, 3), derivative to the angle (e, 3) and to the global unknowns (e, 3, 17)."""

    residual: Array
    by_angle: Array
    jacobian: Array


#: Rows of the prior that speak of the accelerometer's scale and squareness.
SQUARENESS_ROWS = slice(0, 4)


def prior_rows(unknown: Array, axis: Array, noise: InertialNoise) -> tuple[Array, Array]:
    """Prior knowledge as rows of residuals divided by their standard uncertainty.

    Returns
    -------
    rows : ndarray, shape (p, 17)
        Derivative of the (expected) value to the unknowns.
    residual : ndarray, shape (p,)
        Expected value zero less the present one.
    """
    cross = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    squareness = noise.accel_scale_u * GRAVITY_M_S2
    rows = np.zeros((16, GLOBALS))
    c, a, b, d, e = (slice(3 * i, 3 * i + 3) for i in range(FUNCTIONS))
    rows[0:3, b], rows[0:3, a] = np.eye(3) / squareness, cross / squareness
    rows[3, a] = axis / squareness
    # Half a metre of tolerance on the mount's radius; its two parts agree to a centimetre or so.
    rows[4:7, e], rows[4:7, d] = np.eye(3) / 0.015, cross / 0.015
    rows[7:10, d] = np.eye(3) / 0.7
    in_plane = np.eye(3) - np.outer(axis, axis)
    rows[10:13, c] = in_plane / noise.accel_bias_u_m_s2
    rows[13, SCALE] = 1.0 / noise.gyro_scale_u
    rows[14, DELAY] = 1.0 / noise.gyro_accel_delay_u_s
    residual = -rows @ unknown
    # In the plane and along the axis together gravity has its known size.
    along = float(axis @ unknown[c])
    size = float(np.hypot(np.linalg.norm(unknown[a]), along))
    if size > 0.0:
        sd = np.hypot(squareness, noise.accel_bias_u_m_s2 * along / GRAVITY_M_S2)
        rows[15, a] = unknown[a] / size / sd
        rows[15, c] = axis * along / size / sd
        residual[15] = (GRAVITY_M_S2 - size) / sd
    return rows, residual
