"""Do the 95 % bands cover? Hundreds of emulated sessions with every error drawn.

    python benchmarks/coverage_study.py --sessions 400

For each session: draw the errors of calibration, start angle, load, clocks, mounting, noise and the person,
estimate, and ask at each angle whether the true static force of the real machine at the real angle (and the
stated load) lies inside the band. Pointwise: the share of angles covered, averaged over sessions. Simultaneous:
the share of sessions whose whole curve is covered.
"""

from __future__ import annotations

import argparse
from collections import defaultdict

import numpy as np
from emulated_session import reference_of, session_of

from feltload.acquisition.emulator import scenario, simulate
from feltload.signal.pipeline import estimate

MACHINES = ("lever-row", "rising-arm", "over-the-top", "fixed-pull", "four-bar", "cam-drum")
SENSORS = ("ordinary", "cheap", "fast")
TEMPI = ("mixed", "brisk", "mixed", "slow")


def covered(
    name: str, sensors: str, tempo: str, loads: tuple[float, ...], seed: int
) -> tuple[float, float, float]:
    """Share of angles inside, and mean and largest |error| / half-width."""
    runs = [
        simulate(
            scenario(name, sensors=sensors, tempo=tempo, load_kg=load, systematic=True), seed=seed * 10 + k
        )
        for k, load in enumerate(loads)
    ]
    # One machine, one cell, one plate weighing: the same drawn errors go through all of its recordings
    # only for a single load; with several each recording has its own, and so has the statement.
    sessions = [session_of(run, f"{load:g} kg") for run, load in zip(runs, loads, strict=True)]
    result = estimate(sessions, reference=reference_of(runs[0]))
    run = runs[0]
    q = result.angle_rad - run.start_angle_rad
    ratios = []
    for k, load in enumerate(result.loads_kg):
        truth = run.scenario.static_force_n(q, float(load))
        ratios.append(np.abs(result.static_n[k] - truth) / result.static_u95_n[k])
    ratio = np.concatenate(ratios)
    return float(np.mean(ratio <= 1.0)), float(np.mean(ratio)), float(np.max(ratio))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--sessions", type=int, default=400)
    parser.add_argument("--first-seed", type=int, default=0)
    chosen = parser.parse_args()
    groups: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for seed in range(chosen.first_seed, chosen.first_seed + chosen.sessions):
        name, sensors = MACHINES[seed % len(MACHINES)], SENSORS[(seed // len(MACHINES)) % len(SENSORS)]
        tempo = TEMPI[(seed // 18) % len(TEMPI)]
        one = covered(name, sensors, tempo, (40.0,), seed)
        for key in ("all", name, sensors, f"tempo {tempo}"):
            groups[key].append(one)
    print(f"{'group':16s} {'n':>4s} {'pointwise':>9s} {'whole curve':>11s} {'mean |e|/U':>10s}")
    for key, values in sorted(groups.items(), key=lambda item: item[0] != "all"):
        table = np.array(values)
        print(
            f"{key:16s} {len(table):4d} {100 * table[:, 0].mean():8.1f}% {100 * np.mean(table[:, 2] <= 1):10.1f}% "
            f"{table[:, 1].mean():10.2f}"
        )


if __name__ == "__main__":
    main()
