"""What is known of the global unknowns before the data: an accelerometer's matrix, where it sits, gravity's size."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from feltload.core import Floats
from feltload.signal.hinge.smoother.model import (
    DELAY,
    FUNCTIONS,
    GLOBALS,
    GRAVITY_M_S2,
    GRAVITY_U_M_S2,
    ROLLING,
    SCALE,
)
from feltload.signal.noise.densities import InertialNoise

#: Rows of the prior that speak of the accelerometer's matrix, and of where its masses sit.
SQUARENESS_ROWS, POINT_ROWS = slice(0, 4), slice(4, 7)
#: An axle's travel per radian is within this part of the wheel's radius (one standard uncertainty), any way or none:
#: motion tells it to a millimetre.
ROLLING_FREEDOM = 2.0
#: Less gravity in the plane than this (hinges within three degrees of vertical) tells no angle.
LEAST_GRAVITY_M_S2 = 0.5


@dataclass(frozen=True)
class Prior:
    """Prior knowledge of the global unknowns as rows of residuals divided by their standard uncertainty.

    Each row is the derivative of an expected value to the unknowns (p, 22); its residual is what is expected less
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
    rolling_m: float = 0.0

    @cached_property
    def _cross(self) -> Floats:
        x, y, z = self.axis
        return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])

    @cached_property
    def _fixed(self) -> Floats:
        axis, noise, cross = self.axis, self.noise, self._cross
        rows = np.zeros((18, GLOBALS))
        c, a, b, d, e = (slice(3 * i, 3 * i + 3) for i in range(FUNCTIONS))
        rows[0:3, b], rows[0:3, a] = np.eye(3) / noise.accel_scale_u, cross / noise.accel_scale_u
        rows[3, a] = axis / noise.accel_scale_u
        rows[4:7, e], rows[4:7, d] = np.eye(3) / noise.accel_point_u_m, cross / noise.accel_point_u_m
        # The mount's radius is known to be within about 0.7 m of nothing (one standard uncertainty).
        rows[7:10, d] = np.eye(3) / 0.7
        rows[10:13, c] = (np.eye(3) - np.outer(axis, axis)) / noise.accel_bias_u_m_s2
        rows[13, SCALE] = 1.0 / noise.gyro_scale_u
        rows[14, DELAY] = 1.0 / noise.gyro_accel_delay_u_s
        if self.rolling_m:
            rows[16:18, ROLLING] = np.eye(2) / (ROLLING_FREEDOM * self.rolling_m)
        return rows

    def _gravity(self, unknown: Floats) -> tuple[float, float, float]:
        """Gravity along the axis, in all, and how well its size is known."""
        along = float(self.axis @ unknown[:3])
        size = float(np.hypot(np.linalg.norm(unknown[3:6]), along))
        # However good the accelerometer, gravity at the place is not known better than this.
        common = max(self.noise.accel_scale_u * GRAVITY_M_S2, GRAVITY_U_M_S2)
        return along, size, float(np.hypot(common, self.noise.accel_bias_u_m_s2 * along / GRAVITY_M_S2))

    def at(self, unknown: Floats) -> tuple[Floats, Floats]:
        """Rows (18, 22) and residuals (18,) at the present unknowns."""
        rows = self._fixed.copy()
        turning = float(np.linalg.norm(unknown[3:6]))
        # What turns with the arm and is not gravity bends its circle too, as much where gravity is small.
        floor = self.noise.accel_floor_m_s2 / self.noise.accel_scale_u
        rows[SQUARENESS_ROWS] /= np.hypot(turning, floor) if turning else GRAVITY_M_S2
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
