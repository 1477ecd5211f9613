"""From a recording of still attitudes to a certificate of an inertial sensor."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd

from feltload.acquisition import Attitude, InertialCertificate, NoiseDensities, Recording, TurnRecord
from feltload.calibration.errors import AttitudesError
from feltload.calibration.inertial.accelerometer import (
    ACCEL_PARAMETERS,
    AccelCalibration,
    calibrate_accelerometer,
)
from feltload.calibration.inertial.allan import averaging_factors, noise_coefficients, overlapping_allan
from feltload.calibration.inertial.attitudes import StillAttitude, distinct, find_attitudes
from feltload.calibration.inertial.facts import InertialCertificateFact
from feltload.calibration.inertial.gyro import GYRO_PARAMETERS, GyroCalibration, UsedTurn, calibrate_gyro
from feltload.calibration.inertial.turns import KnownTurn, find_turns
from feltload.calibration.weights.gravity import local_gravity
from feltload.core import Fact, Figure, Floats, Severity
from feltload.signal import join_clock

_LONG_STILL_S: Final = 60.0
_SHOWN_TURNS: Final = 3
_GYRO: Final = ["gyro_x_rad_s", "gyro_y_rad_s", "gyro_z_rad_s"]
_ACCEL: Final = ["accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2"]


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
        Turns of known angle. Turns between rests in which gravity turns too are found and used without.

    Raises
    ------
    AttitudesError
        No inertial stream, too few attitudes, attitudes that do not span, or a stated turn that was none.
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
    result = calibrate_accelerometer(
        [item.accel_m_s2 for item in attitudes],
        gravity,
        least_u_m_s2=float(np.median([item.u_accel_m_s2 for item in attitudes])) if attitudes else 0.0,
    )
    bias = np.average([item.gyro_rad_s for item in still], axis=0, weights=[item.samples for item in still])
    # Between attitudes the bias also moves with temperature and gravity: its spread says by how much.
    u_bias = np.std([item.gyro_rad_s for item in still], axis=0, ddof=1)
    turned = calibrate_gyro(
        find_turns(time, gyro - bias, still, turns),
        result,
        u_bias_rad_s=u_bias,
        density_rad_s_rthz=_density(time, gyro, still),
    )
    names = GYRO_PARAMETERS if turned.cross_found else GYRO_PARAMETERS[:3]
    count = len(names)
    covariance = np.zeros((12 + count, 12 + count))
    covariance[:9, :9] = result.covariance
    covariance[range(9, 12), range(9, 12)] = u_bias**2
    covariance[12:, 12:] = turned.covariance[:count, :count]
    covariance[12:, :9] = turned.with_accel[:count]
    covariance[:9, 12:] = turned.with_accel[:count].T
    matrix = turned.matrix if turned.cross_found else np.diag(np.diag(turned.matrix))
    return InertialCertificate(
        serial=serial,
        calibrated_by=calibrated_by,
        place=place,
        calibrated_on=date,
        expires_on=(pd.Timestamp(date) + pd.DateOffset(months=valid_months)).date(),
        gravity_m_s2=gravity.value,
        gravity_u_m_s2=gravity.u,
        gravity_source=gravity.text,
        warnings=_warnings(result, turned),
        notes=_proposals(turned),
        gyro_bias_rad_s=bias.tolist(),
        gyro_matrix=matrix.tolist(),
        accel_offset_m_s2=result.offset_m_s2.tolist(),
        accel_matrix=result.matrix.tolist(),
        parameter_names=[
            *ACCEL_PARAMETERS,
            *(f"gyro_bias_{axis}" for axis in "xyz"),
            *names,
        ],
        parameter_covariance=covariance.tolist(),
        residual_sd_m_s2=float(np.sqrt(np.mean(result.residual_m_s2**2))),
        residual_turn_rad=turned.residual_rad,
        turns=[_recorded(item) for item in turned.turns],
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


def _density(time: Floats, gyro: Floats, still: list[StillAttitude]) -> float:
    """White noise density of the gyro, as it is between neighbours at rest."""
    inside = np.zeros(time.size, dtype=bool)
    for item in still:
        inside |= (time >= item.start_s) & (time <= item.end_s)
    steps = np.diff(gyro, axis=0)[inside[1:] & inside[:-1]]
    own = np.sqrt(np.mean(steps**2) / 2.0)
    return float(own * np.sqrt(np.median(np.diff(time))))


def _warnings(accel: AccelCalibration, gyro: GyroCalibration) -> list[Fact]:
    doubts = []
    if not accel.misalignment_found:
        count = int(accel.residual_m_s2.size)
        doubts.append(Fact(InertialCertificateFact.AXIS_ANGLES_NOT_SHOWN, figures={"attitudes": count}))
    if not gyro.scale_found.all():
        axes = "".join(axis for axis, known in zip("xyz", gyro.scale_found, strict=True) if not known)
        doubts.append(Fact(InertialCertificateFact.SCALE_NOT_CALIBRATED, figures={"axes": axes}))
    refused = [item for item in gyro.turns if not item.used]
    if refused:
        figures: dict[str, Figure] = {"not_used": len(refused), "turns": len(gyro.turns)}
        for number, item in enumerate(refused[:_SHOWN_TURNS], start=1):
            figures[f"turn_{number}_s"] = float(item.turn.time_s[0])
            figures[f"turn_{number}_remark"] = None if item.remark is None else str(item.remark)
        doubts.append(Fact(InertialCertificateFact.TURNS_NOT_USED, figures=figures))
    return doubts


def _proposals(gyro: GyroCalibration) -> list[Fact]:
    """Turns about the vertical that would tell a scale if their angle were stated."""
    proposals = []
    for item in gyro.turns:
        main = int(np.argmax(np.abs(item.axis)))
        right_deg = round(item.angle_rad / (np.pi / 2.0)) * 90.0
        if not item.used or item.remark is None or gyro.scale_found[main] or right_deg == 0.0:
            continue
        span = (float(item.turn.time_s[0]), float(item.turn.time_s[-1]))
        figures: dict[str, Figure] = {
            "angle_rad": item.angle_rad,
            "axis": "xyz"[main],
            "probably_deg": right_deg,
        }
        proposals.append(
            Fact(InertialCertificateFact.TURN_WORTH_STATING, Severity.NOTE, span_s=span, figures=figures)
        )
    return proposals


def _recorded(item: UsedTurn) -> TurnRecord:
    return TurnRecord(
        start_s=float(item.turn.time_s[0]),
        end_s=float(item.turn.time_s[-1]),
        angle_rad=item.angle_rad,
        axis=item.axis.tolist(),
        gravity_turned_rad=item.gravity_turned_rad,
        stated_rad=None if item.turn.stated is None else abs(item.turn.stated.angle_rad),
        residual_rad=item.residual_rad,
        used=item.used,
        remark="" if item.remark is None else str(item.remark),
    )


def _longest_noise(
    time: Floats, gyro: Floats, accel: Floats, still: list[StillAttitude]
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
