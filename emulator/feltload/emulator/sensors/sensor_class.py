"""Kinds of sensor, and the distributions that their errors are drawn from.

The figures of the kinds are ours: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from feltload.core import InputError
from feltload.emulator.sensors.zero_drift import ZeroDrift


@dataclass(frozen=True)
class Transport:
    """The way from a device to the host.

    Parameters
    ----------
    batch : int
        Samples per message.
    floor_s : float
        Least time from the last sample of a message to its arrival.
    jitter_s : float
        Mean of the exponential part on top (one-sided).
    stall_share, stall_s : float
        Share of messages that are late by up to `stall_s` more; those behind queue up.
    drop_share : float
        Share of messages lost.
    """

    batch: int = 1
    floor_s: float = 0.0015
    jitter_s: float = 0.0008
    stall_share: float = 0.004
    stall_s: float = 0.02
    drop_share: float = 0.0005


@dataclass(frozen=True)
class ForceSensorClass:
    """A load cell with its amplifier.

    Parameters
    ----------
    rate_hz : float
    noise_n : float
        Standard deviation of one reading.
    low_pass_hz : float
        Corner of its second-order Butterworth filter.
    latency_s : float
        Pure delay from the instant measured to the device's time stamp.
    zero_n, zero_sd_n : float
        Zero offset: its middle and standard deviation.
    drift : ZeroDrift
        How the zero wanders.
    gain_sd : float
        Relative standard uncertainty of the calibration; drawn only with systematic errors on.
    count_n : float
        Newtons per converter count.
    capacity_n : float
        The reading saturates here.
    bend_per_n : float
        How far it reads more than in proportion, per newton and newton.
    """

    rate_hz: float
    noise_n: float
    low_pass_hz: float
    latency_s: float
    transport: Transport
    zero_sd_n: float = 4.0
    drift: ZeroDrift = field(default_factory=ZeroDrift)
    gain_sd: float = 0.001
    count_n: float = 0.005
    capacity_n: float = 2000.0
    bend_per_n: float = 0.0
    zero_n: float = 0.0


@dataclass(frozen=True)
class InertialSensorClass:
    """Gyroscope and accelerometer on the moving arm.

    Parameters
    ----------
    gyro_noise_rad_s_rt_hz, accel_noise_m_s2_rt_hz : float
        White noise densities.
    gyro_bias_sd_rad_s, gyro_walk_rad_s_rt_s : float
        Bias, and its random walk (rad/s per square root of a second).
    gyro_scale_sd : float
        Relative scale error, standard deviation.
    accel_offset_sd_m_s2, accel_scale_sd : float
        Per axis.
    rate_error_sd : float
        Relative error of the sensor's own sampling rate.
    low_pass_hz : float
        Corner of the second-order Butterworth filter of both.
    latency_s : float
        Pure delay from the instant measured to the device's time stamp.
    gyro_range_rad_s, accel_range_m_s2 : float
        Full scale of the signed 16-bit words.
    """

    rate_hz: float
    gyro_noise_rad_s_rt_hz: float
    gyro_bias_sd_rad_s: float
    gyro_scale_sd: float
    accel_noise_m_s2_rt_hz: float
    low_pass_hz: float
    latency_s: float
    transport: Transport
    gyro_walk_rad_s_rt_s: float = 2.0e-5
    accel_offset_sd_m_s2: float = 0.15
    accel_scale_sd: float = 0.004
    rate_error_sd: float = 0.005
    gyro_range_rad_s: float = 17.453292519943295
    accel_range_m_s2: float = 39.2266


@dataclass(frozen=True)
class SensorSet:
    """The two sensors of one rig.

    `clock_skew_sd` is the relative rate error of each device clock, `arm_play_deg` the standard deviation
    of the rotation about the other two axes as the bearing gives.
    """

    name: str
    force: ForceSensorClass
    inertial: InertialSensorClass
    clock_skew_sd: float = 3.0e-5
    arm_play_deg: float = 0.03


_MG_RT_HZ = 9.80665e-3
_DEG = 0.017453292519943295

_SETS = {
    "ordinary": SensorSet(
        "ordinary",
        ForceSensorClass(80.0, 0.5, 18.0, 0.012, Transport()),
        InertialSensorClass(
            100.0, 0.007 * _DEG, 0.3 * _DEG, 0.01, 0.15 * _MG_RT_HZ, 35.0, 0.002, Transport(floor_s=0.002)
        ),
    ),
    "cheap": SensorSet(
        "cheap",
        ForceSensorClass(
            40.0,
            2.0,
            7.0,
            0.035,
            Transport(
                batch=4, floor_s=0.012, jitter_s=0.008, stall_share=0.01, stall_s=0.06, drop_share=0.002
            ),
            zero_sd_n=10.0,
            drift=ZeroDrift(0.2),
            gain_sd=0.003,
            count_n=0.05,
        ),
        InertialSensorClass(
            52.0,
            0.02 * _DEG,
            1.0 * _DEG,
            0.015,
            0.3 * _MG_RT_HZ,
            20.0,
            0.004,
            Transport(
                batch=5, floor_s=0.009, jitter_s=0.008, stall_share=0.01, stall_s=0.06, drop_share=0.002
            ),
            gyro_walk_rad_s_rt_s=6.0e-5,
            accel_offset_sd_m_s2=0.25,
            rate_error_sd=0.01,
        ),
    ),
    # The chip in a phone, before its browser makes events of it (`phone`); a cell on a board beside it.
    "phone": SensorSet(
        "phone",
        ForceSensorClass(80.0, 0.5, 18.0, 0.012, Transport()),
        InertialSensorClass(
            100.0,
            0.01 * _DEG,
            0.4 * _DEG,
            0.01,
            0.2 * _MG_RT_HZ,
            25.0,
            0.006,
            Transport(floor_s=0.006, jitter_s=0.006, stall_share=0.01, stall_s=0.12, drop_share=0.0),
            gyro_walk_rad_s_rt_s=4.0e-5,
            accel_offset_sd_m_s2=0.2,
            accel_scale_sd=0.006,
            rate_error_sd=0.01,
        ),
    ),
    "fast": SensorSet(
        "fast",
        ForceSensorClass(1000.0, 0.5, 200.0, 0.001, Transport(drop_share=0.0001), count_n=0.002),
        InertialSensorClass(
            833.0, 0.005 * _DEG, 0.2 * _DEG, 0.01, 0.1 * _MG_RT_HZ, 220.0, 0.001, Transport(drop_share=0.0001)
        ),
    ),
}


def sensor_set(name: str) -> SensorSet:
    """The named kind of sensors: "ordinary", "cheap", "phone" or "fast"."""
    if name not in _SETS:
        known = ", ".join(_SETS)
        raise InputError(f"no emulated sensors called {name!r}", remedy=f"choose one of: {known}")
    return _SETS[name]
