"""From a recording of still attitudes to a certificate of an inertial sensor."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import trapezoid

from feltload.acquisition.certificate import Attitude, InertialCertificate, NoiseDensities
from feltload.acquisition.recording import Recording
from feltload.calibration.attitudes import StillAttitude, distinct, find_attitudes
from feltload.calibration.errors import AttitudesError
from feltload.calibration.gravity import local_gravity
from feltload.calibration.inertial_calibration import ACCEL_PARAMETERS, calibrate_accelerometer
from feltload.signal.allan import averaging_factors, noise_coefficients, overlapping_allan
from feltload.signal.clock import join_clock

FloatArray = NDArray[np.float64]

# Gyro scale of an uncalibrated MEMS sensor: some 1 % (common practice, no source).
_UNKNOWN_SCALE_U = 0.01
_LONG_STILL_S = 60.0
_GYRO = ["gyro_x_rad_s", "gyro_y_rad_s", "gyro_z_rad_s"]
_ACCEL = ["accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2"]


@dataclass(frozen=True)
class KnownTurn:
    """A turn about one axis of the sensor through a known angle, between two still moments.

    Attributes
    ----------
    start_s, end_s : float
        Times within the stillness before and after.
    angle_rad, u_angle_rad : float
        Size of the turn and its standard uncertainty.
    """

    start_s: float
    end_s: float
    angle_rad: float
    u_angle_rad: float


def calibrate_inertial(
    recording: Recording,
    *,
    serial: str,
    date: dt.date,
    stream: str | None = None,
    latitude_rad: float | None = None,
    height_m: float | None = None,
    calibrated_by: str = "",
    place: str = "",
    valid_months: int = 12,
    turns: Sequence[KnownTurn] = (),
) -> InertialCertificate:
    """Calibrate the inertial sensor of a recording of still attitudes.

    Parameters
    ----------
    recording : Recording
    serial : str
    date : datetime.date
        Day of the calibration.
    stream : str, optional
        Which inertial stream, where there are several.
    latitude_rad, height_m : float, optional
        Place, for gravity.
    turns : sequence of KnownTurn
        Turns that give the gyro's scale; without them it stays 1 with 1 %.

    Raises
    ------
    AttitudesError
        No inertial stream, too few attitudes, or attitudes that do not span.
    """
    names = recording.streams_of("inertial")
    if stream is None and len(names) != 1:
        raise AttitudesError(
            f"the recording holds {len(names)} inertial streams",
            remedy=f"name one: {', '.join(names) or 'none'}",
        )
    data = recording.stream(stream or names[0], raw=True)
    clock = join_clock(data["host_s"], data["device_s"], data["seq"])
    gravity = local_gravity(latitude_rad, height_m)
    time, gyro, accel = clock.time_s, data[_GYRO].to_numpy(float), data[_ACCEL].to_numpy(float)
    still = find_attitudes(time, gyro, accel)
    attitudes = distinct(still)
    result = calibrate_accelerometer([item.accel_m_s2 for item in attitudes], gravity)
    bias = np.average([item.gyro_rad_s for item in still], axis=0, weights=[item.samples for item in still])
    # Between attitudes the bias also moves with temperature and gravity: its spread says by how much.
    u_bias = np.std([item.gyro_rad_s for item in still], axis=0, ddof=1)
    scale, u_scale, seen = gyro_scale(time, gyro - bias, turns)
    covariance = np.zeros((15, 15))
    covariance[:9, :9] = result.covariance
    covariance[range(9, 15), range(9, 15)] = [*u_bias**2, *u_scale**2]
    warnings = []
    if not result.misalignment_found:
        warnings.append(
            f"{len(attitudes)} attitudes do not show the angles between the axes: twelve or more do"
        )
    if not seen.all():
        axes = ", ".join(axis for axis, known in zip("xyz", seen, strict=True) if not known)
        warnings.append(f"gyro scale of {axes} not calibrated: no known turn about it, taken as good to 1 %")
    return InertialCertificate(
        serial=serial,
        calibrated_by=calibrated_by,
        place=place,
        calibrated_on=date,
        expires_on=(pd.Timestamp(date) + pd.DateOffset(months=valid_months)).date(),
        gravity_m_s2=gravity.value,
        gravity_u_m_s2=gravity.u,
        gravity_source=gravity.text,
        warnings=warnings,
        gyro_bias_rad_s=bias.tolist(),
        gyro_matrix=np.diag(scale).tolist(),
        accel_offset_m_s2=result.offset_m_s2.tolist(),
        accel_matrix=result.matrix.tolist(),
        parameter_names=[
            *ACCEL_PARAMETERS,
            *(f"gyro_bias_{axis}" for axis in "xyz"),
            *(f"gyro_scale_{axis}" for axis in "xyz"),
        ],
        parameter_covariance=covariance.tolist(),
        residual_sd_m_s2=float(np.sqrt(np.mean(result.residual_m_s2**2))),
        attitudes=[
            Attitude(
                start_s=item.start_s,
                end_s=item.end_s,
                accel_m_s2=item.accel_m_s2.tolist(),
                residual_m_s2=float(residual),
            )
            for item, residual in zip(attitudes, result.residual_m_s2, strict=True)
        ],
        noise=_longest_noise(time, gyro, accel, still),
    )


def gyro_scale(
    time_s: ArrayLike, rate_rad_s: ArrayLike, turns: Sequence[KnownTurn]
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Scale of each gyro axis from known turns, its standard uncertainty, and which axes were turned about.

    Parameters
    ----------
    time_s : array_like (n,)
    rate_rad_s : array_like (n, 3)
        Rate with the bias removed.
    turns : sequence of KnownTurn
    """
    time, rate = np.asarray(time_s, dtype=float), np.asarray(rate_rad_s, dtype=float)
    found: list[list[tuple[float, float]]] = [[], [], []]
    for turn in turns:
        inside = (time >= turn.start_s) & (time <= turn.end_s)
        if inside.sum() < 3:
            raise AttitudesError(
                f"no samples between {turn.start_s:g} s and {turn.end_s:g} s",
                remedy="correct the times of the turn",
            )
        angle = np.abs(trapezoid(rate[inside], time[inside], axis=0))
        axis = int(np.argmax(angle))
        if angle[axis] < 0.98 * np.linalg.norm(angle):
            raise AttitudesError(
                f"the turn at {turn.start_s:g} s is not about one axis of the sensor",
                remedy="lay the sensor flat on the turning face and turn again",
            )
        size = float(np.linalg.norm(angle))
        found[axis].append((abs(turn.angle_rad) / size, turn.u_angle_rad / size))
    scale, u = np.ones(3), np.full(3, _UNKNOWN_SCALE_U)
    for axis, values in enumerate(found):
        if values:
            scale[axis] = np.mean([value for value, _ in values])
            # Turns against the same marks are wrong together.
            u[axis] = max(spread for _, spread in values)
    return scale, u, np.array([bool(values) for values in found])


def _longest_noise(
    time: FloatArray, gyro: FloatArray, accel: FloatArray, still: list[StillAttitude]
) -> NoiseDensities | None:
    """Noise of the longest still stretch, if it lasts a minute."""
    longest = max(still, key=lambda item: item.end_s - item.start_s)
    duration = longest.end_s - longest.start_s
    if duration < _LONG_STILL_S:
        return None
    inside = (time >= longest.start_s) & (time <= longest.end_s)
    rate_hz = (inside.sum() - 1) / duration
    factors = averaging_factors(int(inside.sum()))
    curves = [
        overlapping_allan(values[inside, k], rate_hz, factors) for values in (gyro, accel) for k in range(3)
    ]
    noise = [noise_coefficients(curve) for curve in curves]
    deviations = np.array([curve.deviation for curve in curves])
    return NoiseDensities(
        gyro_white_rad_s_rthz=[item.white_density for item in noise[:3]],
        gyro_bias_instability_rad_s=[item.bias_instability for item in noise[:3]],
        gyro_random_walk_rad_s2_rthz=[item.rate_walk for item in noise[:3]],
        accel_white_m_s2_rthz=[item.white_density for item in noise[3:]],
        accel_bias_instability_m_s2=[item.bias_instability for item in noise[3:]],
        accel_random_walk_m_s3_rthz=[item.rate_walk for item in noise[3:]],
        duration_s=duration,
        tau_s=curves[0].tau_s.tolist(),
        gyro_deviation_rad_s=deviations[:3].T.tolist(),
        accel_deviation_m_s2=deviations[3:].T.tolist(),
    )
