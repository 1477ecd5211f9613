"""Static profile, friction, inertia and lag against truth, and against the user's script.

    python benchmarks/study_profile.py --seeds 20

Force gain is exact and the start angle known in these runs: they are calibration, and the bands carry them
(see study_coverage.py). Both sides of every comparison see the same data in the same run. "x bound": error over
the Cramér-Rao bound of the force's noise with the motion known, and over the same with what the inertial sensor
cannot know of its own scale (study_rotation_bound.py). "noise": what the noise of the cell alone leaves of inertia and
lag. The handle's travel is stated as a survey would (a fixed line of pull to 2 degrees); ``--travel-unknown`` leaves it
out.
"""

from __future__ import annotations

import argparse
import dataclasses
import time
from collections.abc import Sequence

import numpy as np

from feltload.emulator import scenario, simulate
from feltload.signal.alignment.solver import solve
from feltload.signal.pipeline import estimate, prepare
from rig_force_bound import cramer_rao_lag_s, cramer_rao_u_n, least_inertia_u
from rig_session import MACHINES, reference_of, session_of
from rig_user_script import binned_profile
from study_rotation_bound import rotation_bound

CASES = (
    ("ordinary", "mixed", 0.1),
    ("ordinary", "brisk", 0.2),
    ("cheap", "mixed", 0.3),
    ("fast", "mixed", 0.1),
)


def _row(name: str, sensors: str, tempo: str, seed: int, *, travel_stated: bool) -> list[float]:
    run = simulate(scenario(name, sensors=sensors, tempo=tempo), seed=seed)
    session = session_of(run, "run")
    begun = time.perf_counter()
    reference = reference_of(run)
    if not travel_stated:
        reference = dataclasses.replace(reference, handle_travel=None)
    result = estimate([session], reference=reference)
    ours_s = time.perf_counter() - begun
    q = result.angle_rad - run.start_angle_rad
    scene = run.scenario
    truth = scene.static_force_n(q)
    peak = np.max(np.abs(truth))
    error = float(np.sqrt(np.mean((result.static_n[0] - truth) ** 2)) / peak)
    friction = float(np.mean(result.friction_n[0]) / np.mean(scene.friction_n(q)) - 1.0)
    inertia = float(np.mean(result.inertia_n_per_rad_s2) / np.mean(scene.inertia_n_per_rad_s2(q)) - 1.0)
    lag = result.lag.value_s - run.true_lag_s
    begun = time.perf_counter()
    angle, force = binned_profile(session.force, session.inertial, run.start_angle_rad)
    theirs_s = time.perf_counter() - begun
    theirs = float(np.sqrt(np.mean((force - scene.static_force_n(angle - run.start_angle_rad)) ** 2)) / peak)
    aligned, extra, _ = prepare(session)
    solved, _ = solve([aligned], [extra], travel=reference.handle_travel)
    by_force = cramer_rao_u_n(solved, [scene.sensors.force.noise_n], q)[0]
    by_angle = np.gradient(truth, q) * q * rotation_bound(run).u_scale
    ratios = [
        error * peak / float(np.sqrt(np.mean(square))) for square in (by_force**2, by_force**2 + by_angle**2)
    ]
    noise = [scene.sensors.force.noise_n]
    least = (
        100 * float(least_inertia_u(solved, noise, q)[0] / np.mean(scene.inertia_n_per_rad_s2(q))),
        1e3 * float(cramer_rao_lag_s(solved, noise)[0]),
    )
    return [
        100 * error, 100 * friction, 100 * inertia, 1e3 * lag, 100 * theirs, *ratios, ours_s, theirs_s, *least
    ]  # fmt: skip


def accuracy(seeds: int, machines: Sequence[str], *, travel_stated: bool) -> None:
    head = "| machine | sensors, tempo | static rms % (worst) | limit | friction rms % "
    head += "| inertia rms % (noise) | lag rms ms (noise) | script % | script/ours "
    head += "| x bound: force, + angle | ours s | script s |"
    print(head)
    print("|" + " --- |" * 12)
    for name in machines:
        for sensors, tempo, limit in CASES:
            table = np.array(
                [_row(name, sensors, tempo, seed, travel_stated=travel_stated) for seed in range(seeds)]
            )
            rms, median = np.sqrt(np.mean(table**2, axis=0)), np.median(table, axis=0)
            print(
                f"| {name} | {sensors}, {tempo} | {rms[0]:.3f} ({table[:, 0].max():.3f}) | {limit} | {rms[1]:.1f} "
                f"| {rms[2]:.2f} ({rms[9]:.2f}) | {rms[3]:.2f} ({rms[10]:.2f}) | {rms[4]:.1f} | {rms[4] / rms[0]:.0f} "
                f"| {median[5]:.1f}, {median[6]:.1f} | {median[7]:.2f} | {median[8]:.2f} |",
                flush=True,
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--machine", action="append", choices=MACHINES)
    parser.add_argument("--travel-unknown", action="store_true")
    chosen = parser.parse_args()
    accuracy(chosen.seeds, chosen.machine or MACHINES, travel_stated=not chosen.travel_unknown)


if __name__ == "__main__":
    main()
