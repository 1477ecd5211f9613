"""What `feltload compare` finds between measurements of machines that do not differ, and whether its bands hold.

    python benchmarks/study_compare.py --groups 4

A group is one emulated machine measured twelve times: sensors re-mounted, tempo, zero and loads drawn each time; one
machine file for all (one error of its start angle), and either one load cell with its certificate or another one each
time. Its pairs (first and second, third and fourth, ...) and the comparison of all with the first are counted. "False":
share of the pairs, and of the comparisons of twelve, in which a difference is reported; aim 5 % at most. "Band": share
of the positions at which zero lies within the 95 % band of the difference. "Scaled": each force by its own mean. Two
loads where the group's number is odd.
"""

from __future__ import annotations

import argparse
import dataclasses
from collections import defaultdict

import numpy as np

from feltload.app.files.provenance import Provenance, RecordingSource
from feltload.app.jobs.comparing.comparison import Comparison, compare_results
from feltload.app.jobs.comparing.results import Result
from feltload.emulator import scenario, simulate
from feltload.signal.pipeline import estimate
from rig_session import reference_of, same_cell, session_of

MACHINES = ("lever-row", "over-the-top", "four-bar")
SENSORS = ("ordinary", "cheap", "fast")
TIMES = 12


def group(name: str, sensors: str, seed: int, *, one_cell: bool, loads_kg: tuple[float, ...]) -> list[Result]:
    """One machine measured several times."""
    results = []
    first_run = None
    for time in range(TIMES):
        runs = []
        for number, load in enumerate(loads_kg):
            scene = dataclasses.replace(
                scenario(name, sensors=sensors, load_kg=load, systematic=True), u_load_share=0.0
            )
            run = simulate(scene, seed=100_000 * seed + 10 * time + number)
            first_run = first_run or run
            runs.append(same_cell(run, first_run if one_cell else (runs or [run])[0]))
        # One machine file: the start angle that it states is off alike each time.
        result = estimate(
            [session_of(run, f"{run.load_kg:g}") for run in runs], reference=reference_of(first_run)
        )
        certificate = "one" if one_cell else f"{time}"
        sources = tuple(
            RecordingSource(
                name=f"{load:g}",
                sha256=f"{time}-{load:g}",
                load_kg=load,
                started_utc="",
                force_certificates=(certificate,),
            )
            for load in loads_kg
        )
        provenance = Provenance(feltload="0", recordings=sources, machine_toml="one")
        results.append(Result(f"{time}", result, provenance))
    return results


def judged(comparison: Comparison) -> dict[str, float]:
    forces = [at.force for pair in comparison.pairs for at in pair.loads]
    frictions = [at.friction for pair in comparison.pairs for at in pair.loads if at.friction is not None]
    return {
        "force": float(any(one.established.any() for one in forces)),
        "friction": float(any(one.established.any() or one.mean_established for one in frictions)),
        "force band": float(np.mean([np.mean(np.abs(one.values) <= one.u95) for one in forces])),
        "friction band": float(np.mean([np.mean(np.abs(one.values) <= one.u95) for one in frictions])),
        "half-width": float(np.mean([one.u95.mean() for one in forces])),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--groups", type=int, default=4)
    chosen = parser.parse_args()
    table: dict[tuple[str, str], list[dict[str, float]]] = defaultdict(list)
    for number in range(chosen.groups):
        loads = (20.0, 40.0) if number % 2 else (40.0,)
        for name in MACHINES:
            for sensors in SENSORS:
                for one_cell in (True, False):
                    seed = 1000 * number + 10 * MACHINES.index(name) + SENSORS.index(sensors)
                    results = group(name, sensors, seed, one_cell=one_cell, loads_kg=loads)
                    cell = "one cell" if one_cell else "other cells"
                    for scaled_by in (None, "mean"):
                        what = "scaled" if scaled_by else "as it is"
                        pairs = [
                            judged(
                                compare_results(tuple(results[k : k + 2]), by="angle", scaled_by=scaled_by)
                            )
                            for k in range(0, TIMES, 2)
                        ]
                        all_of_them = judged(compare_results(tuple(results), by="angle", scaled_by=scaled_by))
                        for key in (f"{what}, {cell}", f"{what}, {sensors}"):
                            table[key, "pairs"] += pairs
                            table[key, "twelve"].append(all_of_them)
    print(
        "| group | comparisons | force false % | friction false % | force band % | friction band % | half-width |"
    )
    print("|" + " --- |" * 7)
    for (key, kind), found in sorted(table.items()):
        mean = {name: float(np.mean([one[name] for one in found])) for name in found[0]}
        print(
            f"| {key}, {kind} | {len(found)} | {100 * mean['force']:.1f} | {100 * mean['friction']:.1f} "
            f"| {100 * mean['force band']:.1f} | {100 * mean['friction band']:.1f} | {mean['half-width']:.3g} |"
        )


if __name__ == "__main__":
    main()
