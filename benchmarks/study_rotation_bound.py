"""How well the rotation can be known at all from one emulated session: the Bayesian Cramér-Rao bound.

    python benchmarks/study_rotation_bound.py --seeds 20

Fisher's information of every sample about the errors of the sensor and of its place on the arm, plus what the
distributions they are drawn from already say (van Trees 1968, Detection, Estimation, and Modulation Theory I, 2.4),
linearised at the truth. Written apart from the estimator: true motion in, covariance out; it knows the true noise,
which the estimator has to guess. The cross-axis play of the bearing and quantisation are left out.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy import linalg

from feltload.core import Floats
from feltload.emulator import SimulatedRun, scenario, simulate
from feltload.emulator.sensors.inertial import arm_frame_signals

KNOT_S = 0.5
BLOCK_S = 0.05
REST_RATE_RAD_S = 1e-4
MOUNT_SD_M = (0.0866, 0.0231)
"""Of the places drawn: 0.1 to 0.4 m along the arm, 0.04 m to either side, both uniform."""


@dataclass(frozen=True)
class RotationBound:
    """Least standard deviations of the rotation from the start stop.

    Attributes
    ----------
    time_s, u_q_rad : ndarray, shape (k,)
        Of the whole error, every half second.
    u_scale : float
        Of the part that is proportional to the rotation (error of the gyro's scale).
    """

    time_s: Floats
    u_q_rad: Floats
    u_scale: float

    @property
    def rms_deg(self) -> float:
        """Over the session, degrees."""
        return float(np.degrees(np.sqrt(np.mean(self.u_q_rad**2))))


def rotation_bound(run: SimulatedRun) -> RotationBound:
    """Bound of one session.

    Unknowns: drift of the integrated gyro and its bias on knots; scale of the gyro; angle of the sensor about the
    hinge; inclination of the hinge; nine errors of the accelerometer's matrix and three offsets; place on the arm.
    Nine, although the emulator draws three: a real sensor's axes are not square, and without that the part of
    gravity that leaks into the hinge's direction would give the scale away.
    """
    kind = run.scenario.sensors.inertial
    truth = run.truth
    stride = max(1, round(BLOCK_S / float(truth["t_s"].iloc[1] - truth["t_s"].iloc[0])))
    time, q, rate, accel = (
        truth[name].to_numpy()[::stride] for name in ("t_s", "q_rad", "rate_rad_s", "accel_rad_s2")
    )
    knots = np.arange(time[0], time[-1] + KNOT_S, KNOT_S)
    count = knots.size
    place = np.clip(((time - knots[0]) / KNOT_S).astype(int), 0, count - 2)
    share = (time - knots[place]) / KNOT_S
    # Unknowns: drift (count), bias (count), then the sensor's.
    size = 2 * count + 17
    scale, about, incline, axes, offsets, mount = (
        2 * count,
        2 * count + 1,
        2 * count + 2,
        slice(2 * count + 3, 2 * count + 12),
        slice(2 * count + 12, 2 * count + 15),
        slice(2 * count + 15, 2 * count + 17),
    )
    information = _drift_information(kind, count, size)
    information[scale, scale] += 1.0 / kind.gyro_scale_sd**2
    for where, sd in ((axes, kind.accel_scale_sd), (offsets, kind.accel_offset_sd_m_s2)):
        information[where, where] += np.eye(where.stop - where.start) / sd**2
    information[mount, mount] += np.diag(1.0 / np.array(MOUNT_SD_M) ** 2)

    turn = _mounting(run)
    place_m = (run.errors["mount_along_m"], run.errors["mount_beside_m"])

    def seen(angle: float = 0.0, tilt: float = 0.0, along: float = 0.0, beside: float = 0.0) -> Floats:
        machine = run.scenario.machine
        _, specific = arm_frame_signals(
            q,
            rate,
            accel,
            start_angle_rad=machine.start_angle_rad + angle,
            hinge_inclination_rad=machine.hinge_inclination_rad + tilt,
            offset_m=(place_m[0] + along, place_m[1] + beside),
            g_m_s2=run.scenario.gravity_m_s2,
        )
        return np.asarray(specific @ turn.T)

    small = 1e-5
    plain = seen()
    by_angle = (seen(angle=small) - seen(angle=-small)) / (2 * small)
    by_tilt = (seen(tilt=small) - seen(tilt=-small)) / (2 * small)
    by_mount = [seen(along=1.0) - plain, seen(beside=1.0) - plain]
    noise = kind.accel_noise_m_s2_rt_hz / np.sqrt(2.0 * BLOCK_S)
    rows = np.arange(time.size)
    for component in range(3):
        jacobian = np.zeros((time.size, size))
        jacobian[rows, place] = -by_angle[:, component] * (1.0 - share)
        jacobian[rows, place + 1] = -by_angle[:, component] * share
        jacobian[:, scale] = -by_angle[:, component] * q
        jacobian[:, about] = by_angle[:, component]
        jacobian[:, incline] = by_tilt[:, component]
        jacobian[:, axes.start + 3 * component : axes.start + 3 * component + 3] = plain
        jacobian[:, offsets.start + component] = 1.0
        jacobian[:, mount.start] = by_mount[0][:, component]
        jacobian[:, mount.start + 1] = by_mount[1][:, component]
        information += jacobian.T @ jacobian / noise**2
    _add_rests(information, time, rate, knots)
    covariance = linalg.inv(information)
    rest = time < time[np.flatnonzero(np.abs(rate) > 10 * REST_RATE_RAD_S)[0]]
    anchor = int(np.clip(np.searchsorted(knots, 0.5 * time[rest][-1]), 0, count - 1))
    operator = np.zeros((count, size))
    operator[np.arange(count), np.arange(count)] = 1.0
    operator[:, anchor] -= 1.0
    operator[:, scale] = np.interp(knots, time, q)
    variance = np.einsum("ij,jk,ik->i", operator, covariance, operator)
    return RotationBound(knots, np.sqrt(np.maximum(variance, 0.0)), float(np.sqrt(covariance[scale, scale])))


def _drift_information(kind: object, count: int, size: int) -> Floats:
    """Ties of drift and bias by the gyro's white noise and the walk of its bias."""
    out = np.zeros((size, size))
    white = kind.gyro_noise_rad_s_rt_hz**2 / 2.0
    walk = kind.gyro_walk_rad_s_rt_s**2
    tie = np.linalg.inv(
        np.array(
            [
                [white * KNOT_S + walk * KNOT_S**3 / 3.0, walk * KNOT_S**2 / 2.0],
                [walk * KNOT_S**2 / 2.0, walk * KNOT_S],
            ]
        )
    )
    for k in range(count - 1):
        step = np.zeros((2, size))
        step[0, [k, k + 1, count + k]] = -1.0, 1.0, -KNOT_S
        step[1, [count + k, count + k + 1]] = -1.0, 1.0
        where = [k, k + 1, count + k, count + k + 1]
        out[np.ix_(where, where)] += step[:, where].T @ tie @ step[:, where]
    out[0, 0] += 1e10
    out[count, count] += 1.0 / kind.gyro_bias_sd_rad_s**2
    return out


def _add_rests(information: Floats, time: Floats, rate: Floats, knots: Floats) -> None:
    """At rest the rotation is known not to change, so what the gyro integrates there is drift."""
    still = np.abs(rate) < REST_RATE_RAD_S
    inside = np.array([np.all(still[(time >= a) & (time <= b)]) for a, b in pairwise(knots)])
    for k in np.flatnonzero(inside):
        step = np.array([[1.0, -1.0], [-1.0, 1.0]]) / (1e-6) ** 2
        information[k : k + 2, k : k + 2] += step


def _mounting(run: SimulatedRun) -> Floats:
    """Attitude of the sensor on the arm as drawn, from its gyro's axis and gravity at the start: arm to sensor."""
    frame = run.inertial
    gyro = frame[["gyro_x_rad_s", "gyro_y_rad_s", "gyro_z_rad_s"]].to_numpy()
    when = frame["host_s"].to_numpy() - run.inertial_delay_s
    rate = np.interp(when, run.truth["t_s"], run.truth["rate_rad_s"])
    hinge = rate @ (gyro - gyro[when < 1.5].mean(axis=0))
    hinge /= np.linalg.norm(hinge)
    up = frame[["accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2"]].to_numpy()[when < 1.5].mean(axis=0)
    up -= (up @ hinge) * hinge
    up /= np.linalg.norm(up)
    start = run.scenario.machine.start_angle_rad
    along = np.sin(start) * up + np.cos(start) * np.cross(up, hinge)
    beside = np.cross(hinge, along)
    return np.column_stack([along, beside, hinge])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=20)
    chosen = parser.parse_args()
    print("| machine | sensors | bound of the rotation, rms deg | of the gyro's scale, % |")
    print("|" + " --- |" * 4)
    for name in ("lever-row", "inclined-lever", "steep-hinge", "four-bar", "cam-drum"):
        for sensors in ("ordinary", "cheap", "fast"):
            bounds = [
                rotation_bound(simulate(scenario(name, sensors=sensors), seed=seed))
                for seed in range(chosen.seeds)
            ]
            rms = np.sqrt(np.mean([bound.rms_deg**2 for bound in bounds]))
            scale = np.sqrt(np.mean([bound.u_scale**2 for bound in bounds]))
            print(f"| {name} | {sensors} | {rms:.3f} | {100 * scale:.3f} |", flush=True)


if __name__ == "__main__":
    main()
