"""What the smoother finds beside the angle: axis, biases, mount, gravity, and how far an axle travels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats
from feltload.signal.hinge.smoother.model import DELAY, FUNCTIONS, ROLLING, SCALE
from feltload.signal.hinge.smoother.solver import Problem, Solution
from feltload.signal.hinge.smoother.uncertainty import global_covariance


@dataclass(frozen=True)
class HingeParameters:
    """What the smoother found beside the angle.

    Attributes
    ----------
    axis : ndarray, shape (3,)
        Hinge axis in the sensor's frame; turning about it by the right-hand rule is positive q.
    gyro_scale, u_gyro_scale : float
        True rate is ``(1 + gyro_scale)`` times the reading.
    gyro_bias_rad_s : float
        Mean bias about the axis, as read.
    inclination_rad : float
        Of the hinge against the horizontal, 0 to pi/2.
    gravity_in_plane_m_s2, gravity_along_hinge_m_s2 : float
        Turning with the arm, and along the hinge with the accelerometer's offset in it.
    u_accel_offset_m_s2, u_accel_scale : float
        What the accelerometer's offset and relative scale may be off by.
    up_at_start, u_up_rad : ndarray, shape (3,), and float
        Direction of the specific force in the plane at q = 0, in the sensor's frame, and its uncertainty as an angle.
    turning_m_s2 : ndarray, shape (2, 3)
        What turns with the arm in the specific force, in the sensor's frame: ``turning[0] cos(q) + turning[1] sin(q)``.
    mount_radius_m : ndarray, shape (2,)
        Sensor from the pivot: upwards at the start, and square to it in the plane (hinge axis x up).
    u_mount_m : float
        Standard uncertainty of each component of it.
    axle_travel_m_rad : ndarray, shape (2,)
        Travel of the axle per radian of q, upwards and square to it in the plane; 0 for a fixed hinge.
    accel_delay_s : float
        Delay of the accelerometer against the gyro.
    accel_residual_m_s2 : float
        Standard deviation of what the model leaves of the low-passed accelerometer.
    off_axis_share : float
        Rate across the axis over rate about it, rms.
    """

    axis: Floats
    gyro_scale: float
    u_gyro_scale: float
    gyro_bias_rad_s: float
    inclination_rad: float
    gravity_in_plane_m_s2: float
    gravity_along_hinge_m_s2: float
    u_accel_offset_m_s2: float
    u_accel_scale: float
    up_at_start: Floats
    u_up_rad: float
    turning_m_s2: Floats
    mount_radius_m: Floats
    u_mount_m: float
    axle_travel_m_rad: Floats
    accel_delay_s: float
    accel_residual_m_s2: float
    off_axis_share: float


def found_parameters(
    problem: Problem, found: Solution, sign: float, reference: float, u_scale: float, off_axis: float
) -> HingeParameters:
    """What a solution says beside the angle, with q = `sign` (theta - `reference`)."""
    turned_axis, noise = problem.equations.data.axis, problem.noise
    axis, inverse = sign * turned_axis, global_covariance(problem, found)
    coefficients = found.unknown[:15].reshape(FUNCTIONS, 3)
    offset, a, b, d, _ = coefficients
    start = a * np.cos(reference) + b * np.sin(reference)
    up = start / max(float(np.linalg.norm(start)), 1e-12)
    along = float(np.linalg.norm(a))
    beside = np.cross(axis, up)
    at_zero = found.unknown[ROLLING] @ problem.equations.across
    rolled = at_zero * np.cos(reference) - np.cross(turned_axis, at_zero) * np.sin(reference)
    return HingeParameters(
        axis=axis,
        gyro_scale=float(found.unknown[SCALE]),
        u_gyro_scale=u_scale,
        gyro_bias_rad_s=float(-sign * np.mean(found.drift_rate)),
        inclination_rad=float(np.arctan2(abs(float(axis @ offset)), along)),
        gravity_in_plane_m_s2=along,
        gravity_along_hinge_m_s2=float(axis @ offset),
        u_accel_offset_m_s2=noise.accel_bias_u_m_s2,
        u_accel_scale=noise.accel_scale_limit_u,
        up_at_start=up,
        u_up_rad=float(np.sqrt(np.trace(inverse[3:6, 3:6]) / 2.0)) / max(along, 1e-12),
        turning_m_s2=np.stack([start, sign * (b * np.cos(reference) - a * np.sin(reference))]),
        mount_radius_m=np.array([-d @ up, -d @ beside]),
        u_mount_m=float(np.sqrt(np.trace(inverse[9:12, 9:12]) / 2.0)),
        axle_travel_m_rad=sign * np.array([rolled @ up, rolled @ beside]),
        accel_delay_s=float(found.unknown[DELAY]),
        accel_residual_m_s2=found.sigma,
        off_axis_share=off_axis,
    )
