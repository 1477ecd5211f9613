"""Do the 95 % bands cover? Hundreds of emulated sessions with every error drawn.

    python benchmarks/study_coverage.py --sessions 384

For each case: draw the errors of calibration, start angle, load, clocks, mounting, noise and the person,
estimate, and ask at each angle whether the true static force of the real machine at the real angle (and the
stated load) lies inside the band. Pointwise: the share of angles covered, averaged over cases. Whole curve:
the share of cases that are covered everywhere. Half of the cases are one recording of 40 kg, half are two of
20 and 40 kg with one cell on one machine: gain and start angle are drawn once, everything else twice.
"""

from __future__ import annotations

import argparse
from collections import defaultdict

import numpy as np

from feltload.emulator import scenario, simulate
from feltload.signal.pipeline import estimate
from rig_session import MACHINES, reference_of, same_cell, session_of

SENSORS = ("ordinary", "cheap", "fast")
TEMPI = ("mixed", "brisk", "mixed", "slow")
LOADS_KG = ((40.0,), (20.0, 40.0))
ROUND = len(MACHINES) * len(SENSORS) * len(TEMPI) * len(LOADS_KG)


def covered(
    name: str, sensors: str, tempo: str, loads_kg: tuple[float, ...], seed: int
) -> tuple[float, float, float, float]:
    """Share of angles inside, mean and largest |error| / half-width, and half-width in percent of the peak."""
    scenes = [
        scenario(name, sensors=sensors, tempo=tempo, load_kg=load, systematic=True) for load in loads_kg
    ]
    runs = [simulate(scene, seed=seed * 10 + k) for k, scene in enumerate(scenes)]
    sessions = [session_of(same_cell(run, runs[0]), f"{run.load_kg:g} kg") for run in runs]
    result = estimate(sessions, reference=reference_of(runs[0]))
    q = result.angle_rad - runs[0].start_angle_rad
    truth = np.array([scenes[0].static_force_n(q, float(load)) for load in result.loads_kg])
    ratio = np.abs(result.static_n - truth) / result.static_u95_n
    width = np.mean(result.static_u95_n) / np.max(np.abs(truth))
    return float(np.mean(ratio <= 1.0)), float(np.mean(ratio)), float(np.max(ratio)), 100.0 * float(width)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--sessions", type=int, default=2 * ROUND)
    parser.add_argument("--first-seed", type=int, default=0)
    chosen = parser.parse_args()
    groups: dict[str, list[tuple[float, float, float, float]]] = defaultdict(list)
    for seed in range(chosen.first_seed, chosen.first_seed + chosen.sessions):
        name, sensors = MACHINES[seed % 8], SENSORS[(seed // 8) % 3]
        tempo, loads = TEMPI[(seed // 24) % 4], LOADS_KG[(seed // 96) % 2]
        one = covered(name, sensors, tempo, loads, seed)
        if one[2] > 2.0:
            print(f"seed {seed}: {name}, {sensors}, {tempo}, {loads}: worst error {one[2]:.2f} half-widths")
        for key in ("all", name, sensors, f"tempo {tempo}", f"{len(loads)} load(s)"):
            groups[key].append(one)
    print("| group | cases | pointwise % | whole curve % | mean error / half-width | half-width, % of peak |")
    print("|" + " --- |" * 6)
    for key, values in sorted(groups.items(), key=lambda item: item[0] != "all"):
        table = np.array(values)
        print(
            f"| {key} | {len(table)} | {100 * table[:, 0].mean():.1f} | {100 * np.mean(table[:, 2] <= 1):.1f} "
            f"| {table[:, 1].mean():.2f} | {np.median(table[:, 3]):.2f} |"
        )


if __name__ == "__main__":
    main()
