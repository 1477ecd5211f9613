"""What the accelerometer of a part on a hinge should read, and how that changes with every unknown.

With the angle theta about the axis j, the specific force in the sensor's frame is linear in five functions of time:

    a = C + A cos(theta) + B sin(theta) + D rate**2 + E acceleration

A turns with gravity in the plane of motion, C holds gravity along the axis and the offsets, D = -r and E = j x r
belong to the mount's radius vector r. An ideal accelerometer has B = -j x A and E = -j x D; scale errors and axes
that are not square bend these relations a little, so they are priors here, not constraints.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.signal.windows import hann

from feltload.core import Flags, Floats
from feltload.signal.hinge.data import HingeData
from feltload.signal.noise.densities import InertialNoise

GRAVITY_M_S2 = 9.80665
#: Standard uncertainty of gravity at a place that is not stated (9.78 at the equator, 9.83 at the poles).
GRAVITY_U_M_S2 = 0.015
#: The accelerometer's equations are kept at about this rate, behind a low-pass of a quarter of it.
EQUATION_HZ = 12.5
FUNCTIONS = 5
GLOBALS = 3 * FUNCTIONS + 2
SCALE, DELAY = 15, 16


@dataclass(frozen=True)
class Reduced:
    """Low-pass and decimation of columns on the working grid."""

    stride: int
    kernel: Floats

    @classmethod
    def for_rate(cls, grid_hz: float) -> Reduced:
        stride = max(1, round(grid_hz / EQUATION_HZ))
        kernel = hann(4 * stride + 1)
        return cls(stride, kernel / kernel.sum())

    def __call__(self, rows: Floats) -> Floats:
        """Low-passed and thinned along the last axis: (..., m) to (..., e)."""
        blocks = (rows.shape[-1] - 1) // self.stride
        cut = rows[..., : blocks * self.stride].reshape(*rows.shape[:-1], blocks, self.stride)
        # The window's last weight is zero, so it covers four blocks; each block's four sums are one product.
        parts = cut @ self.kernel[:-1].reshape(4, self.stride).T
        length = max(blocks - 3, 0)
        return np.asarray(sum(parts[..., i : i + length, i] for i in range(4)))

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
    time_s: Floats
    measured: Floats
    trusted: Flags

    @classmethod
    def of(cls, data: HingeData) -> Equations:
        reduce = Reduced.for_rate(data.grid_hz)
        share = reduce(data.valid.astype(float))
        measured = np.ascontiguousarray(reduce(data.accel.T).T)
        return cls(data, reduce, data.time_s[reduce.centres(len(data.time_s))], measured, share > 0.98)

    def functions(self, scale: float, drift: Floats, drift_rate: Floats) -> Floats:
        """The five functions, shape (5, e), for a scale error and a drift on the working grid."""
        theta = (1.0 + scale) * self.data.turned + drift
        rate = (1.0 + scale) * self.data.rate + drift_rate
        rows = np.stack(
            [np.ones_like(theta), np.cos(theta), np.sin(theta), rate**2, (1.0 + scale) * self.data.slope]
        )
        return self.reduce(rows)

    def linearise(self, unknown: Floats, drift: Floats, drift_rate: Floats) -> Linearised:
        """Residuals and derivatives at the global unknowns (17,) and the drift on the working grid."""
        scale = unknown[SCALE]
        data = self.data
        coefficients = unknown[:15].reshape(FUNCTIONS, 3)
        theta = (1.0 + scale) * data.turned + drift
        rate = (1.0 + scale) * data.rate + drift_rate
        rows = np.empty((11, len(theta)))
        np.cos(theta, out=rows[0])
        np.sin(theta, out=rows[1])
        rows[2] = rate**2
        rows[3] = (1.0 + scale) * data.slope
        rows[4:6] = data.turned * rows[:2]
        rows[6:8] = rate * rows[:2]
        rows[8] = 2.0 * rate * data.rate
        rows[9] = data.slope
        rows[10] = 2.0 * rate * rows[3]
        low = self.reduce(rows)
        _, a, b, d, e = coefficients
        by_angle = low[:2].T @ np.stack([b, -a])
        by_scale = low[[4, 5, 8, 9]].T @ np.stack([b, -a, d, e])
        by_delay = low[[6, 7, 10]].T @ np.stack([-b, a, -d])
        functions = np.concatenate([np.ones((1, low.shape[1])), low[:4]])
        predicted = functions.T @ coefficients + unknown[DELAY] * by_delay
        return Linearised(self.measured - predicted, by_angle, functions, by_scale, by_delay)


@dataclass(frozen=True)
class Linearised:
    """Residuals of the equations and their derivatives.

    Attributes
    ----------
    residual, by_angle, by_scale, by_delay : ndarray, shape (e, 3)
    functions : ndarray, shape (5, e)
        Derivative to the first 15 global unknowns: each function stands for all three components alike.
    """

    residual: Floats
    by_angle: Floats
    functions: Floats
    by_scale: Floats
    by_delay: Floats

    def against_angle(self, weight: Floats) -> Floats:
        """Weighted products of the derivative to the angle with those to the globals and the residual, (e, 18)."""
        weighted = weight[:, None] * self.by_angle
        out = np.empty((len(weight), GLOBALS + 1))
        out[:, :15] = (self.functions.T[:, :, None] * weighted[:, None, :]).reshape(-1, 15)
        for column, other in ((SCALE, self.by_scale), (DELAY, self.by_delay), (GLOBALS, self.residual)):
            out[:, column] = np.sum(weighted * other, axis=1)
        return out

    def against_unknowns(self, weight: Floats) -> tuple[Floats, Floats]:
        """Weighted normal matrix (17, 17) and right-hand side (17,) of the global unknowns."""
        weighted = self.functions * weight
        corner = np.empty((GLOBALS, GLOBALS))
        corner[:15, :15] = np.kron(weighted @ self.functions.T, np.eye(3))
        last = np.concatenate([self.by_scale, self.by_delay, self.residual], axis=1)
        products = (weighted @ last).reshape(FUNCTIONS, 3, 3)
        corner[:15, SCALE], corner[:15, DELAY] = products[:, 0].ravel(), products[:, 1].ravel()
        corner[SCALE, :15], corner[DELAY, :15] = corner[:15, SCALE], corner[:15, DELAY]
        flat = last.reshape(-1, 3, 3).swapaxes(0, 1).reshape(3, -1)
        small = (flat * np.repeat(weight, 3)) @ flat.T
        corner[15:, 15:] = small[:2, :2]
        return corner, np.concatenate([products[:, 2].ravel(), small[:2, 2]])


#: Rows of the prior that speak of the accelerometer's matrix, and of where its masses sit.
SQUARENESS_ROWS, POINT_ROWS = slice(0, 4), slice(4, 7)
#: Less gravity in the plane than this (hinges within three degrees of vertical) tells no angle anyway.
LEAST_GRAVITY_M_S2 = 0.5


@dataclass(frozen=True)
class Prior:
    """Prior knowledge of the global unknowns as rows of residuals divided by their standard uncertainty.

    Each row is the derivative of an expected value to the unknowns (p, 17); its residual is what is expected less
    the present value.

    Notes
    -----
    With j the axis, an ideal accelerometer has B = -j x A and E = -j x D. A matrix of scale and squareness errors M
    turns what is seen of gravity in the plane, so w = B + j x A is about |A| M. It does the same to D and E: what it
    leaves of E + j x D is ``(d1 w + d2 (j x w - (j . A) j)) / |A|``, d1 and d2 being the parts of D along A and along
    -j x A. Beyond that the two belong to one place of the sensor, which is how its centripetal and tangential
    acceleration, of second and first order in the gyro's scale, tell that scale.
    """

    axis: Floats
    noise: InertialNoise

    @cached_property
    def _cross(self) -> Floats:
        x, y, z = self.axis
        return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])

    @cached_property
    def _fixed(self) -> Floats:
        axis, noise, cross = self.axis, self.noise, self._cross
        rows = np.zeros((16, GLOBALS))
        c, a, b, d, e = (slice(3 * i, 3 * i + 3) for i in range(FUNCTIONS))
        rows[0:3, b], rows[0:3, a] = np.eye(3) / noise.accel_scale_u, cross / noise.accel_scale_u
        rows[3, a] = axis / noise.accel_scale_u
        rows[4:7, e], rows[4:7, d] = np.eye(3) / noise.accel_point_u_m, cross / noise.accel_point_u_m
        # The mount's radius is known to be within about 0.7 m of nothing (one standard uncertainty).
        rows[7:10, d] = np.eye(3) / 0.7
        rows[10:13, c] = (np.eye(3) - np.outer(axis, axis)) / noise.accel_bias_u_m_s2
        rows[13, SCALE] = 1.0 / noise.gyro_scale_u
        rows[14, DELAY] = 1.0 / noise.gyro_accel_delay_u_s
        return rows

    def _gravity(self, unknown: Floats) -> tuple[float, float, float]:
        """Gravity along the axis, in all, and how well its size is known."""
        along = float(self.axis @ unknown[:3])
        size = float(np.hypot(np.linalg.norm(unknown[3:6]), along))
        # However good the accelerometer, gravity at the place is not known better than this.
        common = max(self.noise.accel_scale_u * GRAVITY_M_S2, GRAVITY_U_M_S2)
        return along, size, float(np.hypot(common, self.noise.accel_bias_u_m_s2 * along / GRAVITY_M_S2))

    def at(self, unknown: Floats) -> tuple[Floats, Floats]:
        """Rows (16, 17) and residuals (16,) at the present unknowns."""
        rows = self._fixed.copy()
        turning = float(np.linalg.norm(unknown[3:6]))
        rows[SQUARENESS_ROWS] /= max(turning, LEAST_GRAVITY_M_S2) if turning else GRAVITY_M_S2
        if turning > LEAST_GRAVITY_M_S2:
            ahead, beside = unknown[9:12] @ unknown[3:6], unknown[9:12] @ (self._cross @ unknown[3:6])
            share = (ahead * np.eye(3) - beside * self._cross) / (turning**2 * self.noise.accel_point_u_m)
            rows[POINT_ROWS, 6:9] -= share
            axial = beside * np.outer(self.axis, self.axis) / (turning**2 * self.noise.accel_point_u_m)
            rows[POINT_ROWS, 3:6] -= share @ self._cross + axial
        residual = -rows @ unknown
        # In the plane and along the axis together gravity has its known size.
        along, size, u_size = self._gravity(unknown)
        if size > 0.0:
            rows[15, 3:6] = unknown[3:6] / size / u_size
            rows[15, :3] = self.axis * along / size / u_size
            residual[15] = (GRAVITY_M_S2 - size) / u_size
        return rows, np.asarray(residual)
