"""Noise of an inertial sensor: typical figures, or read from the data.

The typical figures are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feltload.core import Floats

#: Differences from which a median of the noise is taken; more say nothing more.
MEDIAN_SAMPLES = 20_000


@dataclass(frozen=True)
class InertialNoise:
    """What is known of an inertial sensor before its data are seen. Defaults fit an ordinary MEMS sensor (common
    practice, no source).

    Densities are the coefficient N of IEEE Std 952: an Allan deviation of N at 1 s; one sample of white noise at
    rate f then has the standard deviation N sqrt(f).

    Attributes
    ----------
    gyro_density_rad_s_rt_hz : float
        Angular random walk.
    gyro_walk_rad_s_rt_s : float
        Random walk of the gyro bias, rad/s per square root of a second.
    gyro_bias_u_rad_s : float
        Standard uncertainty of the bias.
    gyro_scale_u : float
        Relative standard uncertainty of the gyro scale.
    accel_density_m_s2_rt_hz : float
    accel_bias_u_m_s2 : float
        Standard uncertainty of the accelerometer offset of one axis.
    accel_walk_m_s2_rt_s : float
        Random walk of an accelerometer axis' offset, m/s² per square root of a second. The still sensor of a public
        recording steps by up to 3.2 mm/s² rms from minute to minute and goes 22 mm/s² in 24 minutes (Song, Pei &
        Hsiao-Wecksler; `study_recordings.py still`).
    accel_floor_m_s2 : float
        What turns with the arm in the accelerometer's readings and is no gravity: bearings, vibration, bending.
    accel_scale_u : float
        Relative accelerometer scale and squareness of axes that the estimate is computed with.
    accel_scale_limit_u : float
        The same that the stated uncertainty is computed with. Keeping the estimate's own figure small costs little on
        a poor accelerometer and gains much on a good one; stating uncertainties for the poor one keeps them honest.
    accel_point_u_m, accel_point_limit_u_m : float
        How far apart the masses of the accelerometer's axes sit, in the same two senses (a chip of a few millimetres).
    gyro_accel_delay_u_s : float
        Standard uncertainty of the delay of the accelerometer against the gyro inside the sensor.
    """

    gyro_density_rad_s_rt_hz: float = 1.5e-4
    gyro_walk_rad_s_rt_s: float = 1.0e-4
    gyro_bias_u_rad_s: float = 0.1
    gyro_scale_u: float = 0.02
    accel_density_m_s2_rt_hz: float = 2.0e-3
    accel_bias_u_m_s2: float = 0.3
    accel_walk_m_s2_rt_s: float = 2.5e-4
    accel_floor_m_s2: float = 0.01
    accel_scale_u: float = 0.0025
    accel_scale_limit_u: float = 0.005
    accel_point_u_m: float = 0.0005
    accel_point_limit_u_m: float = 0.001
    gyro_accel_delay_u_s: float = 0.003


def sample_noise(values: Floats) -> Floats:
    """Standard deviation of the white noise of one sample, per column, while the quantity moves smoothly.

    Third differences leave little of a movement; the median is not moved by knocks.

    Parameters
    ----------
    values : ndarray, shape (n, k)

    Returns
    -------
    ndarray, shape (k,)
    """
    if len(values) < 8:
        return np.zeros(values.shape[1])
    stride = max(1, len(values) // MEDIAN_SAMPLES)
    third = values[3::stride] - values[:-3:stride] - 3.0 * (values[2:-1:stride] - values[1:-2:stride])
    size = np.abs(np.ascontiguousarray(third.T))
    return np.asarray(1.4826 * np.median(size, axis=1) / np.sqrt(20.0))


def noise_from_data(typical: InertialNoise, gyro: Floats, accel: Floats, rate_hz: float) -> InertialNoise:
    """Densities from the samples themselves, kept within a factor of the typical ones.

    Parameters
    ----------
    typical : InertialNoise
    gyro, accel : ndarray, shape (n, 3)
        rad/s and m/s²; the still part of a record if there is one.
    rate_hz : float

    Notes
    -----
    A sensor's own low-pass takes away from high frequencies, so what third differences show is a lower bound: the
    typical figure is the floor, lowered only to a third of it.
    """
    gyro_density = float(np.median(sample_noise(gyro))) / np.sqrt(rate_hz)
    accel_density = float(np.median(sample_noise(accel))) / np.sqrt(rate_hz)
    return replace(
        typical,
        gyro_density_rad_s_rt_hz=float(
            np.clip(
                gyro_density, typical.gyro_density_rad_s_rt_hz / 3.0, 20.0 * typical.gyro_density_rad_s_rt_hz
            )
        ),
        accel_density_m_s2_rt_hz=float(
            np.clip(
                accel_density, typical.accel_density_m_s2_rt_hz / 3.0, 50.0 * typical.accel_density_m_s2_rt_hz
            )
        ),
    )
