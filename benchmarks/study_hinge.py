"""Rotation of the arm: error against truth and against a general-purpose orientation filter.

python benchmarks/study_hinge.py accuracy --seeds 20
python benchmarks/study_hinge.py calibrated --seeds 20
python benchmarks/study_hinge.py clock
"""

from __future__ import annotations

import argparse
import datetime as dt
import time

import numpy as np

from feltload.acquisition.certificates.certificate import InertialCertificate
from feltload.emulator import scenario, simulate
from feltload.signal.clock.joining import join_clock
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.noise.calibrated import (
    ACCEL_OFFSET_STABILITY_M_S2,
    ACCEL_SCALE_STABILITY,
    GYRO_SCALE_STABILITY,
)
from rig_orientation_filter import filter_angle

GYRO = ["gyro_x_rad_s", "gyro_y_rad_s", "gyro_z_rad_s"]
ACCEL = ["accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2"]


def rms_deg(error):
    return float(np.degrees(np.sqrt(np.mean(error**2))))


def accuracy(seeds):
    print(
        "| machine | sensors | rms mean, deg | over all, deg | worst, deg | filter, deg | ratio | in 95 % band "
        "| time ratio |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for machine in ("lever-row", "inclined-lever", "steep-hinge", "four-bar", "cam-drum"):
        for sensors in ("ordinary", "cheap", "fast"):
            rows = [one(machine, sensors, seed) for seed in range(seeds)]
            ours, theirs, inside, seconds, other = np.array(rows).T
            print(
                f"| {machine} | {sensors} | {ours.mean():.3f} | {np.sqrt(np.mean(ours**2)):.3f} | {ours.max():.3f} "
                f"| {theirs.mean():.3f} "
                f"| {theirs.mean() / ours.mean():.0f} | {100 * inside.mean():.0f} % "
                f"| {np.median(seconds / other):.1f} |",
                flush=True,
            )


def one(machine, sensors, seed):
    run = simulate(scenario(machine, sensors=sensors), seed=seed)
    times, gyro, accel, true_q = samples_of(run)
    started = time.perf_counter()
    motion = estimate_hinge(times, gyro, accel)
    seconds = time.perf_counter() - started
    started = time.perf_counter()
    other = filter_angle(times, gyro, accel, motion.parameters.axis)
    other_seconds = time.perf_counter() - started
    other -= other[times < motion.reference_s[1]].mean()
    error = motion.q_rad - np.interp(motion.time_s, times, true_q)
    inside = float(np.mean(np.abs(error) < 1.96 * motion.u_q_rad))
    return rms_deg(error), rms_deg(other - true_q), inside, seconds, other_seconds


def samples_of(run):
    """Times, gyro, accelerometer and the true rotation of one emulated session."""
    stream, truth = run.inertial, run.truth
    times = join_clock(stream["host_s"], stream["device_s"], stream["seq"]).time_s
    true_q = np.interp(times - run.inertial_delay_s, truth["t_s"], truth["q_rad"])
    return times, stream[GYRO].to_numpy(), stream[ACCEL].to_numpy(), true_q


def calibrated(seeds):
    print(
        "| machine | sensors | rms mean, deg | worst | in band | calibrated: rms mean, deg | worst | in band |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for machine in ("lever-row", "inclined-lever", "steep-hinge"):
        for sensors in ("ordinary", "cheap", "fast"):
            rows = []
            for seed in range(seeds):
                run = simulate(scenario(machine, sensors=sensors), seed=seed)
                times, gyro, accel, true_q = samples_of(run)
                certificate = drawn_certificate(run.errors, np.random.default_rng(seed))
                pair = (
                    estimate_hinge(times, gyro, accel),
                    estimate_hinge(
                        times,
                        certificate.gyro_rad_s(gyro),
                        certificate.accel_m_s2(accel),
                        certificate=certificate,
                    ),
                )
                errors = [motion.q_rad - np.interp(motion.time_s, times, true_q) for motion in pair]
                rows.append(
                    [
                        number
                        for motion, error in zip(pair, errors, strict=True)
                        for number in (rms_deg(error), np.mean(np.abs(error) < 1.96 * motion.u_q_rad))
                    ]
                )
            plain, inside, ours, within = np.array(rows).T
            print(
                f"| {machine} | {sensors} | {plain.mean():.3f} | {plain.max():.3f} | {100 * inside.mean():.0f} % "
                f"| {ours.mean():.3f} | {ours.max():.3f} | {100 * within.mean():.0f} % |",
                flush=True,
            )


def drawn_certificate(errors, rng, *, u_turn=0.0014, u_scale=0.0004, u_angle=0.0004, u_offset=0.01):
    """A certificate as twelve attitudes and a turn of 360 +- 0.5 degrees about each axis give it.

    Its numbers are off the sensor's true ones by its own uncertainty and by what changed since.
    """
    usual = {
        "accel_offset": np.hypot(u_offset, ACCEL_OFFSET_STABILITY_M_S2),
        "accel_scale": np.hypot(u_scale, ACCEL_SCALE_STABILITY),
        "accel_misalignment": np.hypot(u_angle, ACCEL_SCALE_STABILITY),
        "gyro_scale": np.hypot(u_turn, GYRO_SCALE_STABILITY),
    }
    names = [f"accel_offset_{axis}" for axis in "xyz"] + [f"accel_scale_{axis}" for axis in "xyz"]
    names += [f"accel_misalignment_{pair}" for pair in ("xy", "xz", "yz")]
    names += [f"gyro_scale_{axis}" for axis in "xyz"]
    stated = np.repeat([u_offset, u_scale, u_angle, u_turn], 3)
    xy, xz, yz = rng.normal(0.0, usual["accel_misalignment"], 3)
    scales = np.array([1.0 / (1.0 + errors[f"accel_scale_{axis}"]) for axis in "xyz"])
    scales += rng.normal(0.0, usual["accel_scale"], 3)
    offsets = np.array([errors[f"accel_offset_{axis}_m_s2"] for axis in "xyz"])
    turn = 1.0 / (1.0 + errors["gyro_scale"]) + rng.normal(0.0, usual["gyro_scale"])
    return InertialCertificate(
        serial="drawn",
        calibrated_on=dt.date(2026, 3, 2),
        expires_on=dt.date(2027, 3, 2),
        gravity_m_s2=9.80665,
        gravity_u_m_s2=3e-4,
        gyro_bias_rad_s=[0.0, 0.0, 0.0],
        gyro_matrix=(turn * np.eye(3)).tolist(),
        accel_offset_m_s2=(offsets + rng.normal(0.0, usual["accel_offset"], 3)).tolist(),
        accel_matrix=[[scales[0], xy, xz], [0.0, scales[1], yz], [0.0, 0.0, scales[2]]],
        parameter_names=names,
        parameter_covariance=np.diag(stated**2).tolist(),
        residual_sd_m_s2=0.004,
        attitudes=[],
    )


def clock():
    print("| delays | batch | skew error, ppm | least squares, ppm | time rms, us |")
    print("| --- | --- | --- | --- | --- |")
    for name, draw in (
        ("exponential, 2 ms", lambda rng, n: rng.exponential(0.002, n)),
        ("uniform, 8 ms", lambda rng, n: rng.uniform(0.0, 0.008, n)),
        ("gamma (soft edge), 3 ms", lambda rng, n: rng.gamma(3.0, 0.001, n)),
    ):
        for batch in (1, 10):
            skews, squares, errors = [], [], []
            for seed in range(60):
                rng = np.random.default_rng(seed)
                true_s, skew = np.arange(6000) / 100.0, rng.uniform(-1e-4, 1e-4)
                newest = np.minimum((np.arange(6000) // batch + 1) * batch - 1, 5999)
                host = np.maximum.accumulate((true_s + draw(rng, 6000))[newest])
                device = true_s / (1.0 + skew)
                fit = join_clock(host, device)
                skews.append(fit.skew - skew)
                squares.append(np.polyfit(device, host, 1)[0] - 1.0 - skew)
                errors.append(np.std(fit.time_s - true_s))
            print(
                f"| {name} | {batch} | {1e6 * np.std(skews):.2f} | {1e6 * np.std(squares):.2f} "
                f"| {1e6 * np.mean(errors):.0f} |"
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("what", choices=("accuracy", "calibrated", "clock"))
    parser.add_argument("--seeds", type=int, default=20)
    chosen = parser.parse_args()
    if chosen.what == "accuracy":
        accuracy(chosen.seeds)
    elif chosen.what == "calibrated":
        calibrated(chosen.seeds)
    else:
        clock()


if __name__ == "__main__":
    main()
