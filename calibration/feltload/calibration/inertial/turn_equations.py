"""What one turn from rest to rest says about a gyro: where it carries gravity, and how far it turned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy

from feltload.calibration.inertial.accelerometer import AccelCalibration
from feltload.calibration.inertial.attitudes import StillAttitude
from feltload.calibration.inertial.turns import Turn, orientation
from feltload.core import Floats

PLACES: Final = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1))
"""Places in the matrix of the nine numbers: scales first, then cross-axis terms row by row."""
_DIRECTION_U: Final = 5e-4
"""Direction of gravity in one rest before its scatter is known: 0.03 degrees."""


@dataclass(frozen=True, eq=False)
class TurnEquations:
    """A turn's equations at one matrix.

    Residuals (observed less predicted), the prediction's derivatives by the nine numbers and by the error common to
    all stated angles, the residual's by the accelerometer's nine, and the standard deviation of what is its own.
    The first `seen` rows are those of gravity: two, or none where no rest was found.
    """

    residual: Floats
    by_gyro: Floats
    by_marks: Floats
    by_accel: Floats
    sigma: Floats
    seen: int


@dataclass(frozen=True)
class TurnNoise:
    """What makes turns scatter: the bias from rest to rest, the gyro's white noise, and a factor for the rest."""

    drift_rad_s: float
    density_rad_s_rthz: float
    factor: float = 1.0

    def of(self, turn: Turn, *, directions: int) -> float:
        """Standard deviation of a turn's residual in which gravity was looked up `directions` times."""
        walked = np.hypot(self.drift_rad_s * turn.duration_s, self.density_rad_s_rthz * turn.duration_s**0.5)
        return self.factor * float(np.hypot(walked, _DIRECTION_U * directions**0.5))


def gravity_in_rest(item: StillAttitude, accel: AccelCalibration) -> tuple[Floats, Floats]:
    """Unit vector of gravity's reaction in a rest, and its derivatives by the accelerometer's numbers, (3, 9)."""
    shifted = item.accel_m_s2 - accel.offset_m_s2
    true = accel.matrix @ shifted
    size = float(np.linalg.norm(true))
    unit = true / size
    x, y, z = shifted
    by_matrix = np.array([[x, 0, 0, y, z, 0], [0, y, 0, 0, 0, z], [0, 0, z, 0, 0, 0]])
    across = (np.eye(3) - np.outer(unit, unit)) / size
    return unit, across @ np.hstack([-accel.matrix, by_matrix])


def turn_equations(turn: Turn, matrix: Floats, accel: AccelCalibration, noise: TurnNoise) -> TurnEquations:
    """Equations of one turn, linearised at a matrix of the gyro: two of gravity, and one of a stated angle."""
    raw = turn.rate_rad_s
    attitude = orientation(turn.time_s, raw @ matrix.T)
    residual, by_gyro, by_accel = np.zeros(0), np.zeros((0, 9)), np.zeros((0, 9))
    if turn.before is not None and turn.after is not None:
        back = attitude[-1].T
        before, before_by = gravity_in_rest(turn.before, accel)
        after, after_by = gravity_in_rest(turn.after, accel)
        # A rate wrong by D @ raw turns gravity by the integral of attitude @ D @ raw, seen from the start.
        moved = scipy.integrate.trapezoid(np.einsum("nai,nj->naij", attitude, raw), turn.time_s, axis=0)
        by_place = np.stack([back @ np.cross(before, moved[:, i, j]) for i, j in PLACES], axis=1)
        plane = np.linalg.svd(after[None, :])[2][1:]
        residual = plane @ (after - back @ before)
        by_gyro = plane @ by_place
        by_accel = plane @ (after_by - back @ before_by)
    seen = residual.size
    by_marks, sigma = np.zeros(seen), np.full(seen, noise.of(turn, directions=2))
    if turn.stated is not None:
        swept = matrix @ turn.swept
        axis = swept / np.linalg.norm(swept)
        angle = angle_turned(attitude[-1], axis, float(np.linalg.norm(swept)))
        residual = np.append(residual, abs(turn.stated.angle_rad) - angle)
        by_gyro = np.vstack([by_gyro, [axis[i] * turn.swept[j] for i, j in PLACES]])
        by_accel = np.vstack([by_accel, np.zeros(9)])
        # Turns against the same marks are wrong together: one unknown for all of them.
        by_marks = np.append(by_marks, turn.stated.u_angle_rad)
        sigma = np.append(sigma, max(noise.of(turn, directions=0), 1e-3 * turn.stated.u_angle_rad))
    return TurnEquations(residual, by_gyro, by_marks, by_accel, sigma, seen)


def angle_turned(attitude: Floats, axis: Floats, roughly_rad: float) -> float:
    """Angle turned about an axis, whole turns included, whatever the path wobbled."""
    along = float(scipy.spatial.transform.Rotation.from_matrix(attitude).as_rotvec() @ axis)
    return along + 2.0 * np.pi * round((roughly_rad - along) / (2.0 * np.pi))
