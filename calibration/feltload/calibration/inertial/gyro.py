"""Scale and cross-axis terms of a gyro from turns between rests, whose gravity the accelerometer saw before and after.

Between two rests the gyro's turn must carry gravity from where the accelerometer saw it before to where it saw it
after: two equations a turn, without any known angle. A turn about the vertical tells nothing of its own size that way;
where its angle is stated, that is a third one. From turns about three axes follow all nine numbers of the matrix.

Sources, from memory: D. Tedaldi, A. Pretto, E. Menegatti, "A robust and easy to implement method for IMU calibration
without external equipments", ICRA 2014, 3042-3049, doi:10.1109/ICRA.2014.6907297; scale factor, misalignment and
cross-axis sensitivity are the terms of IEEE Std 528.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from feltload.calibration.errors import AttitudesError
from feltload.calibration.inertial.accelerometer import AccelCalibration
from feltload.calibration.inertial.facts import TurnRemark
from feltload.calibration.inertial.turn_equations import (
    PLACES,
    TurnNoise,
    angle_turned,
    gravity_in_rest,
    turn_equations,
)
from feltload.calibration.inertial.turns import Turn, orientation
from feltload.core import Flags, Floats

GYRO_PARAMETERS: Final = (
    *(f"gyro_scale_{axis}" for axis in "xyz"),
    *(f"gyro_misalignment_{pair}" for pair in ("xy", "xz", "yx", "yz", "zx", "zy")),
)
PRIOR_U: Final = 0.01
"""Scale and cross-axis terms of an uncalibrated MEMS gyro: some 1 % (common practice, no source)."""
_SEEN_SHARE: Final = 0.5
"""A number counts as found when the turns leave less than this share of what was known before."""
_FAR_OFF: Final = 5.0
_OUTLIER: Final = 4.0
_MEDIAN_OF_TWO: Final = (2.0 * np.log(2.0)) ** 0.5
"""Median length of two standard normal deviates."""
_VERTICAL_RAD: Final = np.radians(5.0)
_ROUNDS: Final = 12


@dataclass(frozen=True)
class UsedTurn:
    """What became of a turn.

    Parameters
    ----------
    turn : Turn
    angle_rad : float
        Size of the whole turn by the corrected gyro.
    axis : float array, shape (3,)
        Its axis in the sensor's frame, as a unit vector.
    gravity_turned_rad : float or None
        How far gravity turned in the sensor's frame; None where a rest was not found.
    residual_rad : float or None
        How far gravity is from where the corrected gyro carries it.
    used : bool
    remark : TurnRemark or None
        Why it was not used, or what it could be used for.
    """

    turn: Turn
    angle_rad: float
    axis: Floats
    gravity_turned_rad: float | None
    residual_rad: float | None
    used: bool
    remark: TurnRemark | None = None


@dataclass(frozen=True, eq=False)
class GyroCalibration:
    """``true = matrix @ (raw - bias)``, in the frame of the calibrated accelerometer.

    Parameters
    ----------
    matrix : float array, shape (3, 3)
    covariance : float array, shape (9, 9)
        In the order of `GYRO_PARAMETERS`.
    with_accel : float array, shape (9, 9)
        Covariance of these numbers (rows) with the accelerometer's (columns).
    scale_found, cross_found : bool array, shape (3,), and bool
        Which scales the turns showed, and whether they showed any cross-axis term.
    turns : list of UsedTurn
    residual_rad : float or None
        Root mean square of the used turns' residuals.
    """

    matrix: Floats
    covariance: Floats
    with_accel: Floats
    scale_found: Flags
    cross_found: bool
    turns: list[UsedTurn]
    residual_rad: float | None


def calibrate_gyro(
    turns: Sequence[Turn], accel: AccelCalibration, *, u_bias_rad_s: Floats, density_rad_s_rthz: float
) -> GyroCalibration:
    """Matrix of the gyro from turns between rests.

    Parameters
    ----------
    turns : sequence of Turn
    accel : AccelCalibration
        Of the same recording.
    u_bias_rad_s : float array, shape (3,)
        How much the bias differs from rest to rest.
    density_rad_s_rthz : float
        White noise density of the gyro.

    Raises
    ------
    AttitudesError
        A turn of stated angle that is not about one axis, or was another angle.
    """
    for turn in turns:
        _require_plausible(turn)
    noise = TurnNoise(float(np.linalg.norm(u_bias_rad_s)) / 3**0.5, density_rad_s_rthz)
    whole = [turn for turn in turns if not turn.has_gap]
    # With nothing known but the usual 1 %, what is further off than that explains is no turn of this sensor.
    good = [turn for turn in whole if _is_near(turn, accel, noise)]
    near = list(good)
    while True:
        matrix, covariance = _solve(good, accel, noise)
        factor = _excess(good, matrix, accel, replace(noise, factor=1.0))
        if factor != noise.factor:
            noise = replace(noise, factor=factor)
            matrix, covariance = _solve(good, accel, noise)
        far = np.array(
            [np.linalg.norm(_gravity_off(turn, matrix, accel, replace(noise, factor=1.0))) for turn in good]
        )
        # The median says what is usual, which a single far one does not move.
        usual = max(1.0, float(np.median(far[far > 0.0])) / _MEDIAN_OF_TWO) if np.any(far > 0.0) else 1.0
        if not far.size or far.max() <= _OUTLIER * usual or len(good) <= (2 * len(near)) // 3:
            break
        good.pop(int(far.argmax()))
    by_accel = np.zeros((9, 9))
    for turn in good:
        rows = turn_equations(turn, matrix, accel, noise)
        both = np.hstack([rows.by_gyro, rows.by_marks[:, None]])
        by_accel += (covariance @ (both.T / rows.sigma**2) @ rows.by_accel)[:9]
    total = covariance[:9, :9] + by_accel @ accel.covariance @ by_accel.T
    determined = np.sqrt(np.diag(total)) < _SEEN_SHARE * PRIOR_U
    used = [_judged(turn, matrix, accel, noise, near=turn in near, good=turn in good) for turn in turns]
    residuals = [item.residual_rad for item in used if item.used and item.residual_rad is not None]
    return GyroCalibration(
        matrix,
        total,
        by_accel @ accel.covariance,
        determined[:3],
        bool(determined[3:].any()),
        used,
        float(np.sqrt(np.mean(np.square(residuals)))) if residuals else None,
    )


def _require_plausible(turn: Turn) -> None:
    known = turn.stated
    if known is None:
        return
    where = f"the turn at {known.start_s:g} s"
    if turn.has_gap:
        raise AttitudesError(f"samples are missing in {where}", remedy="turn again, with a link that holds")
    if not turn.is_about_one_axis:
        raise AttitudesError(
            f"{where} is not about one axis of the sensor",
            remedy="lay the sensor flat on the turning face and turn again",
        )
    swept, stated = float(np.linalg.norm(turn.swept)), abs(known.angle_rad)
    if abs(swept - stated) > _FAR_OFF * np.hypot(PRIOR_U * stated, known.u_angle_rad):
        raise AttitudesError(
            f"{where} is stated as {np.degrees(stated):.1f}°, and the gyro turned {np.degrees(swept):.1f}°",
            remedy="correct the angle or the times",
        )


def _solve(turns: Sequence[Turn], accel: AccelCalibration, noise: TurnNoise) -> tuple[Floats, Floats]:
    """Matrix, and covariance (10, 10) of its numbers and the stated angles' common error, by Gauss-Newton."""
    weight = np.diag([PRIOR_U**-2.0] * 9 + [1.0])
    start = np.array([1.0] * 3 + [0.0] * 7)
    values = start.copy()
    for _ in range(_ROUNDS):
        normal, right = weight.copy(), -weight @ (values - start)
        for turn in turns:
            rows = turn_equations(turn, _matrix(values), accel, noise)
            both = np.hstack([rows.by_gyro, rows.by_marks[:, None]])
            scaled = both.T / rows.sigma**2
            normal += scaled @ both
            right += scaled @ (rows.residual - rows.by_marks * values[9])
        step = np.linalg.solve(normal, right)
        values = values + step
        if np.abs(step).max() < 1e-10:
            break
    return _matrix(values), np.linalg.inv(normal)


def _matrix(values: Floats) -> Floats:
    out = np.zeros((3, 3))
    for value, place in zip(values, PLACES, strict=False):
        out[place] = value
    return out


def _is_near(turn: Turn, accel: AccelCalibration, noise: TurnNoise) -> bool:
    rows = turn_equations(turn, np.eye(3), accel, noise)
    residual, by_gyro = rows.residual[: rows.seen], rows.by_gyro[: rows.seen]
    spread = PRIOR_U**2 * by_gyro @ by_gyro.T + np.diag(rows.sigma[: rows.seen] ** 2)
    return bool(residual @ np.linalg.solve(spread, residual) <= _FAR_OFF**2)


def _gravity_off(turn: Turn, matrix: Floats, accel: AccelCalibration, noise: TurnNoise) -> Floats:
    """How far gravity is from where it is carried, over what noise explains, shape (2,) or (0,)."""
    rows = turn_equations(turn, matrix, accel, noise)
    return np.asarray(rows.residual[: rows.seen] / rows.sigma[: rows.seen])


def _excess(turns: Sequence[Turn], matrix: Floats, accel: AccelCalibration, noise: TurnNoise) -> float:
    """Scatter of the residuals over what their noise explains, never below 1."""
    scaled = np.concatenate([np.zeros(0), *(_gravity_off(turn, matrix, accel, noise) for turn in turns)])
    freedom = scaled.size - len(PLACES)
    return max(1.0, float(np.sqrt(scaled @ scaled / freedom))) if freedom >= 2 else 1.0


def _judged(
    turn: Turn, matrix: Floats, accel: AccelCalibration, noise: TurnNoise, *, near: bool, good: bool
) -> UsedTurn:
    swept = matrix @ turn.swept
    size = float(np.linalg.norm(swept))
    axis = swept / size if size > 0 else np.zeros(3)
    ends = [None if item is None else gravity_in_rest(item, accel)[0] for item in (turn.before, turn.after)]
    before, after = ends
    tilted = None if before is None or after is None else float(np.arccos(np.clip(before @ after, -1.0, 1.0)))
    if turn.has_gap:
        return UsedTurn(turn, size, axis, tilted, None, False, TurnRemark.SAMPLES_MISSING)
    attitude = orientation(turn.time_s, turn.rate_rad_s @ matrix.T)[-1]
    size = angle_turned(attitude, axis, size)
    rows = turn_equations(turn, matrix, accel, noise)
    residual = float(np.linalg.norm(rows.residual[: rows.seen])) if rows.seen else None
    remark: TurnRemark | None
    if not near:
        remark = TurnRemark.GRAVITY_ELSEWHERE
    elif not good:
        remark = TurnRemark.FURTHER_OFF
    elif turn.stated is None and before is not None and abs(axis @ before) > np.cos(_VERTICAL_RAD):
        remark = TurnRemark.ABOUT_VERTICAL
    else:
        remark = None
    return UsedTurn(turn, size, axis, tilted, residual, good, remark)
