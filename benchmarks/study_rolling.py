"""Rotation of wheels and pulleys: axles that travel as they turn, and several turns.

python benchmarks/study_rolling.py --seeds 20
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from feltload.emulator import scenario, simulate
from feltload.signal.hinge.estimator import estimate_hinge
from study_hinge import rms_deg, samples_of

MACHINES = ("sled-wheel", "travelling-pulley", "rope-pulley")
SENSORS = ("ordinary", "cheap")


def one(case, seed):
    """Errors of one session: without and with a rolling wheel in the model; the axle's travel found."""
    run = simulate(case, seed=seed)
    times, gyro, accel, true_q = samples_of(run)
    row = []
    for rolling_m in (0.0, case.machine.rim_m):
        motion = estimate_hinge(times, gyro, accel, rolling_m=rolling_m)
        error = motion.q_rad - np.interp(motion.time_s, times, true_q)
        row += [
            rms_deg(error),
            np.mean(np.abs(error) < 1.96 * motion.u_q_rad),
            np.degrees(np.sqrt(np.mean(motion.u_q_rad**2))),
        ]
    found = np.hypot(*motion.parameters.axle_travel_m_rad) - np.hypot(*case.machine.axle_m_rad)
    return [*row, 1e3 * found, np.degrees(np.ptp(true_q))]


def of_wide_range(case):
    """A gyroscope of 2000 degrees per second: wheels turn faster than arms, and what is clipped is another study."""
    wide = replace(case.sensors.inertial, gyro_range_rad_s=np.radians(2000.0))
    return replace(case, sensors=replace(case.sensors, inertial=wide))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=20)
    seeds = parser.parse_args().seeds
    print(
        "| machine | sensors | turned, deg | fixed hinge: rms, deg | in 95 % band | rolling: rms mean, deg | worst "
        "| stated, deg | in 95 % band | axle's travel off, mm/rad: mean, worst |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for name in MACHINES:
        for sensors in SENSORS:
            case = of_wide_range(scenario(name, sensors=sensors))
            rows = np.array([one(case, seed) for seed in range(seeds)])
            plain, inside, _, rms, within, stated, travel, turned = rows.T
            print(
                f"| {name} | {sensors} | {turned.mean():.0f} | {plain.mean():.3f} | {100 * inside.mean():.0f} % "
                f"| {rms.mean():.3f} | {rms.max():.3f} | {stated.mean():.3f} | {100 * within.mean():.0f} % "
                f"| {travel.mean():.2f}, {np.abs(travel).max():.2f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
