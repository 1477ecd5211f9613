"""What the motion says about the mounting: no hinge, a sensor that slipped, an accelerometer that disagrees.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import numpy as np

from feltload.core import Fact, Flags, Floats, Severity, runs_of_true
from feltload.signal.errors import MotionError
from feltload.signal.hinge.facts import HingeFact
from feltload.signal.hinge.record import SolvedRecord
from feltload.signal.hinge.samples import InertialSamples
from feltload.signal.hinge.slip import slip_about_hinge
from feltload.signal.hinge.smoother.model import FUNCTIONS, GRAVITY_M_S2, SCALE
from feltload.signal.hinge.smoother.solver import Problem, Solution
from feltload.signal.hinge.vertical import Hold, held_by

#: Rate across the axis over rate about it above which a part does not turn about one hinge.
NOT_A_HINGE = 0.15
#: With this much across, what accelerometer and gyroscope say cannot fit one hinge, whatever their scales and signs.
ACROSS = 0.08
#: Change of the hinge axis in the sensor's frame that means it moved on the part.
SLIP_RAD = np.radians(3.0)
WINDOW_S = 5.0
#: Residual of the accelerometer above which it and the gyroscope cannot belong to one turning part.
CONTRADICTION_M_S2 = 2.5
#: What scale errors and skewed axes of an accelerometer leave is far below this.
LEAST_MISMATCH_M_S2 = 0.4
MISMATCH_SHARE = 0.3
#: No working accelerometer has an offset like this.
LARGEST_OFFSET_M_S2 = 2.0
#: Scale errors this many times their standard uncertainty are reported.
UNUSUAL_SCALE = 4.0
#: Beside rotation across the axis, this many make it no hinge.
DOUBTFUL_SCALE = 2.5
#: No working gyroscope has a scale error like this.
LARGEST_SCALE_ERROR = 0.15
FARTHEST_MOUNT_M = 3.0
#: The angle has not settled if its last step still moved it by this.
UNSETTLED_RAD = np.radians(0.05)
#: Parts of gravity between which an accelerometer is treated as one that works.
GRAVITY_SHARE = (0.7, 1.4)


def motion_warnings(record: SolvedRecord, q: Floats, off_axis: float) -> list[Fact]:
    """What the motion shows of the mounting and of the two sensors.

    Raises
    ------
    MotionError
        When accelerometer and gyroscope contradict each other.
    """
    samples, problem, solution = record.samples, record.problem, record.found
    facts: list[Fact] = []
    slip = axis_change(samples)
    scale, u_scale = float(solution.unknown[SCALE]), problem.noise.gyro_scale_u
    # A pivot that moves shows as a scale error too.
    off = abs(scale) / u_scale
    no_hinge = off_axis > NOT_A_HINGE or (off_axis > ACROSS and off > DOUBTFUL_SCALE)
    if slip is not None:
        facts.append(_turned(HingeFact.SENSOR_MOVED, *slip, Severity.SERIOUS))
    elif no_hinge:
        facts.append(Fact(HingeFact.NOT_A_HINGE, Severity.SERIOUS, figures={"share": off_axis}))
    about = slip_about_hinge(*record.first)
    if about is not None:
        facts.append(_turned(HingeFact.SLIPPED_ABOUT_HINGE, *about, Severity.SERIOUS))
    step = rest_change(samples.time_s, q, record.still)
    if step is not None:
        severity = Severity.SERIOUS if abs(step[1]) > SLIP_RAD else Severity.CAUTION
        facts.append(_turned(HingeFact.REST_CHANGED, *step, severity))
    facts += _of_both_sensors(record, off_axis)
    if off > UNUSUAL_SCALE and not no_hinge:
        facts.append(Fact(HingeFact.UNUSUAL_SCALE, figures={"scale": scale, "u_scale": float(u_scale)}))
    if solution.moved_rad > UNSETTLED_RAD:
        facts.append(Fact(HingeFact.NOT_SETTLED))
    return facts


def _of_both_sensors(record: SolvedRecord, off_axis: float) -> list[Fact]:
    """Whether accelerometer and gyroscope fit together, and gravity tells the angle at all."""
    samples, problem, solution = record.samples, record.problem, record.found
    few = samples.accel[:: max(1, len(samples.accel) // 5000)]
    felt = float(np.median(np.linalg.norm(few, axis=1)))
    if not GRAVITY_SHARE[0] < felt / GRAVITY_M_S2 < GRAVITY_SHARE[1]:
        return [Fact(HingeFact.NO_GRAVITY, figures={"accel_m_s2": felt})]
    if not problem.by_gravity:
        return [_without_gravity(problem, solution)]
    reason = contradiction(problem.equations.data.axis, solution)
    if reason and off_axis > ACROSS:
        raise MotionError(
            f"the part does not turn about one fixed hinge: {100.0 * off_axis:.0f} % of its rotation is across it",
            remedy="fix the sensor on the arm itself, and the machine to the floor, and record again",
        )
    if reason:
        raise MotionError(
            reason,
            remedy="check the axes, signs and units of both, for samples that stick or jump, and the pivot",
        )
    if solution.sigma > 3.0 * problem.noise.accel_bias_u_m_s2:
        return [Fact(HingeFact.SENSORS_DISAGREE, figures={"accel_m_s2": solution.sigma})]
    return []


def _without_gravity(problem: Problem, solution: Solution) -> Fact:
    hold = held_by(problem)
    return Fact(
        HingeFact.GRAVITY_LEFT_OUT,
        Severity.CAUTION if hold in (Hold.ENDS, Hold.NOTHING) else Severity.NOTE,
        figures={
            "gravity_m_s2": float(np.linalg.norm(solution.unknown[3:6])),
            "held_by": str(hold),
            "u_scale": float(problem.noise.gyro_scale_u),
        },
    )


def _turned(kind: HingeFact, at_s: float, by_rad: float, severity: Severity = Severity.CAUTION) -> Fact:
    return Fact(kind, severity, span_s=(float(at_s), float(at_s)), figures={"turned_rad": float(by_rad)})


def contradiction(axis: Floats, found: Solution) -> str | None:
    """Why accelerometer and gyroscope cannot sit on one turning part, if so."""
    if turns_the_wrong_way(axis, found.unknown):
        return "gravity turns the other way than the gyroscope says"
    if found.sigma > CONTRADICTION_M_S2:
        return f"accelerometer and gyroscope contradict each other ({found.sigma:.1f} m/s² left over)"
    away = float(np.linalg.norm(found.unknown[9:12]))
    if away > FARTHEST_MOUNT_M:
        return (
            "accelerometer and gyroscope contradict each other: the sensor would have to sit"
            f" {away:.1f} m from the pivot"
        )
    scale = float(found.unknown[SCALE])
    if abs(scale) > LARGEST_SCALE_ERROR:
        return (
            "accelerometer and gyroscope contradict each other: the gyroscope's readings would have to be off by"
            f" {100.0 * scale:.0f} %"
        )
    return None


def turns_the_wrong_way(axis: Floats, unknown: Floats) -> bool:
    """Whether the fitted turn of gravity in the sensor's frame is none about the axis: a sign or axes are mixed up."""
    offset, a, b, *_ = unknown[:15].reshape(FUNCTIONS, 3)
    mismatch = float(np.linalg.norm(b + np.cross(axis, a)))
    # An arc of the wrong turn looks much like the right one moved aside by an offset.
    aside = float(np.linalg.norm(np.cross(axis, offset)))
    limit = max(LEAST_MISMATCH_M_S2, MISMATCH_SHARE * float(np.linalg.norm(a)))
    return mismatch > limit or aside > LARGEST_OFFSET_M_S2


def axis_change(samples: InertialSamples) -> tuple[float, float] | None:
    """When and by how much (rad) the hinge axis changed for good in the sensor's frame, if it did."""
    width = max(8, round(WINDOW_S * samples.rate_hz))
    count = len(samples.time_s) // width
    if count < 4:
        return None
    gyro = np.where(samples.gyro_clipped[:, None], 0.0, samples.gyro)
    blocks = gyro[: count * width].reshape(count, width, 3)
    mean = np.ones(width) @ blocks / width
    moments = blocks.transpose(0, 2, 1) @ blocks / width - mean[:, :, None] * mean[:, None, :]
    before, after = np.cumsum(moments, axis=0), np.cumsum(moments[::-1], axis=0)[::-1]
    best, where = 0.0, 0
    for k in range(1, count):
        if np.trace(before[k - 1]) < 0.02 or np.trace(after[k]) < 0.02:
            continue
        left, right = np.linalg.eigh(before[k - 1])[1][:, -1], np.linalg.eigh(after[k])[1][:, -1]
        angle = float(np.arccos(np.clip(abs(left @ right), 0.0, 1.0)))
        if angle > best:
            best, where = angle, k
    if best < SLIP_RAD:
        return None
    # A part without one axis changes direction all the time: both sides must be narrow by themselves.
    for side in (before[where - 1], after[where]):
        values = np.linalg.eigvalsh(side)
        if values[-2] > 0.01 * values[-1]:
            return None
    return float(samples.time_s[where * width]), best


def rest_change(time_s: Floats, q: Floats, still: Flags) -> tuple[float, float] | None:
    """When and by how much (rad) the lowest rest position changed for good, if it did."""
    span = float(np.ptp(q))
    rests = [(float(time_s[a]), float(np.mean(q[a:b]))) for a, b in runs_of_true(still)]
    low = [(t, level) for t, level in rests if abs(level) < 0.25 * span]
    if len(low) < 4:
        return None
    levels = np.array([level for _, level in low])
    for k in range(2, len(low) - 1):
        before, after = levels[:k], levels[k:]
        shift = float(np.median(after) - np.median(before))
        spread = max(float(np.ptp(before)), float(np.ptp(after)))
        if abs(shift) > max(2.0 * spread, np.radians(1.0)):
            return low[k][0], shift
    return None


TILT_SHARE = 0.02
"""Part of the predicted force that a wrong inclination may make before it is reported: about 11° where 0° is stated."""
TILT_RAD = np.radians(5.0)
"""What a sensor's own offset can make of an inclination."""


def inclination_fact(measured_rad: float, assumed_rad: float | None, *, stated: bool = True) -> Fact | None:
    """The hinge's inclination where it makes the machine file's forces wrong; None where it does not."""
    if assumed_rad is None or abs(measured_rad - abs(assumed_rad)) < TILT_RAD:
        return None
    share = float(np.cos(assumed_rad) - np.cos(measured_rad)) / max(float(np.cos(assumed_rad)), 1e-6)
    if abs(share) < TILT_SHARE:
        return None
    figures = {"measured_rad": measured_rad, "share": share}
    if stated:
        figures["stated_rad"] = float(assumed_rad)
    return Fact(HingeFact.INCLINATION_DIFFERS, figures=figures)
