"""Gyro scale and cross-axis terms from turns by hand: error and coverage over many sensors, time against a plain fit.

    python benchmarks/study_gyro_turns.py --seeds 200

Every seed draws a sensor (gyro scale and cross-axis terms 0.8 %, accelerometer scale 1 %, angles 0.2 degrees, offset
0.2 m/s^2) and lays it on its faces and on tilted ones by hand. The plain fit is SciPy's `least_squares` on the
published objective with a loop of rotations, as a user would otherwise write it.
"""

from __future__ import annotations

import argparse
import sys
import time

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from feltload.calibration.inertial.accelerometer import calibrate_accelerometer
from feltload.calibration.inertial.attitudes import distinct, find_attitudes
from feltload.calibration.inertial.gyro import calibrate_gyro
from feltload.calibration.inertial.turn_equations import PLACES
from feltload.calibration.inertial.turns import find_turns
from feltload.calibration.weights.gravity import Gravity
from feltload.emulator.sensors.handled import G, faces_and_tilts, handle

KINDS = {"ordinary": (100.0, 0.0015, 0.015), "cheap": (52.0, 0.004, 0.05)}
"""Rate in Hz, standard deviations of gyro and accelerometer noise."""


def one(seed: int, kind: str):
    rate_hz, gyro_sd, accel_sd = KINDS[kind]
    rng = np.random.default_rng([seed, 11])
    truth = handle(faces_and_tilts(seed), seed=seed, rate_hz=rate_hz)
    gyro = np.eye(3) + rng.normal(0, 0.008, (3, 3))
    accel = np.diag(1 + rng.normal(0, 0.01, 3))
    accel[np.triu_indices(3, 1)] = rng.normal(0, np.radians(0.2), 3)
    rate = np.linalg.solve(gyro, truth.rate_rad_s.T).T + rng.normal(0, 0.01, 3)
    force = np.linalg.solve(accel, truth.force_m_s2.T).T + rng.normal(0, 0.2, 3)
    rate += rng.normal(0, gyro_sd, rate.shape)
    force += rng.normal(0, accel_sd, force.shape)
    still = find_attitudes(truth.time_s, rate, force)
    attitudes = distinct(still)
    found = calibrate_accelerometer(
        [item.accel_m_s2 for item in attitudes],
        Gravity(G, 1e-4, "drawn"),
        least_u_m_s2=float(np.median([item.u_accel_m_s2 for item in attitudes])),
    )
    rests = np.array([item.gyro_rad_s for item in still])
    bias = np.average(rests, axis=0, weights=[item.samples for item in still])
    started = time.process_time()
    turns = find_turns(truth.time_s, rate - bias, still)
    calibrated = calibrate_gyro(
        turns, found, u_bias_rad_s=rests.std(axis=0, ddof=1), density_rad_s_rthz=gyro_sd / rate_hz**0.5
    )
    took_s = time.process_time() - started
    error = np.array([calibrated.matrix[place] - gyro[place] for place in PLACES])
    before = np.array([np.eye(3)[place] - gyro[place] for place in PLACES])
    return error, np.sqrt(np.diag(calibrated.covariance)), before, took_s, turns, found, gyro


def plain(turns, accel):
    ends = [
        [accel.matrix @ (item.accel_m_s2 - accel.offset_m_s2) for item in (turn.before, turn.after)]
        for turn in turns
    ]

    def miss(values):
        matrix = np.zeros((3, 3))
        for value, place in zip(values, PLACES, strict=True):
            matrix[place] = value
        out = []
        for turn, (before, after) in zip(turns, ends, strict=True):
            rate = turn.rate_rad_s @ matrix.T
            attitude = Rotation.identity()
            for step in 0.5 * (rate[1:] + rate[:-1]) * np.diff(turn.time_s)[:, None]:
                attitude = attitude * Rotation.from_rotvec(step)
            carried = attitude.inv().apply(before / np.linalg.norm(before))
            out.append(after / np.linalg.norm(after) - carried)
        return np.concatenate(out)

    started = time.process_time()
    values = least_squares(miss, [1.0] * 3 + [0.0] * 6).x
    return values, time.process_time() - started


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--plain", type=int, default=5, help="seeds on which the plain fit is run too")
    arguments = parser.parse_args()
    print(
        "| sensor | seeds | before, % | scale, % | cross-axis, % | within 2 u | time, s | plain: error, % | time, s |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for kind in KINDS:
        errors, us, befores, times, plain_errors, plain_times = [], [], [], [], [], []
        for seed in range(arguments.seeds):
            error, u, before, took_s, turns, accel, gyro = one(seed, kind)
            errors.append(error)
            us.append(u)
            befores.append(before)
            times.append(took_s)
            if seed < arguments.plain:
                values, plain_s = plain(turns, accel)
                plain_errors.append(values - np.array([gyro[place] for place in PLACES]))
                plain_times.append(plain_s)
        rms = [
            100 * float(np.sqrt(np.mean(np.square(part))))
            for part in (befores, np.array(errors)[:, :3], np.array(errors)[:, 3:], plain_errors)
        ]
        covered = 100 * float(np.mean(np.abs(errors) <= 2 * np.array(us)))
        print(
            f"| {kind} | {arguments.seeds} | {rms[0]:.2f} | {rms[1]:.3f} | {rms[2]:.3f} | {covered:.1f} % | "
            f"{np.median(times):.2f} | {rms[3]:.3f} | {np.median(plain_times):.1f} |"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
