"""Coverage of the band of a profile that was read by hand, on every emulated machine, with all errors drawn.

Usage: python benchmarks/study_stops.py [--sessions N]
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import numpy as np

from feltload.core import Floats
from feltload.emulator import HandScaleErrors, read_by_hand, scenario, scenario_names
from feltload.signal import HandScale, ProfileEstimate, Reference, TableOptions, estimate_at_stops, read_stops

PLANS = {
    "9 stops, both ways": {"stops": 9, "repeats": 1},
    "7 stops, both ways, twice": {"stops": 7, "repeats": 2},
    "9 stops, raising only": {"stops": 9, "ways": ("raising",)},
}
"""How the readings are taken."""
FRICTION_SD = 0.05
"""Where friction is not separated, the machine's is drawn: the size of a normal deviate of this share of the force."""


def session(name: str, seed: int, folder: Path, plan: dict[str, object]) -> tuple[ProfileEstimate, Floats]:
    """One profile and the truth at its angles, shape (n,)."""
    scene = scenario(name, load_kg=40.0)
    drawn = abs(float(np.random.default_rng(seed + 10_000).normal(0.0, FRICTION_SD)))
    hand = read_by_hand(scene, seed, friction_share=drawn, **plan)
    path = folder / "stops.csv"
    hand.table.to_csv(path, index=False)
    true_start = scene.machine.start_angle_rad
    reference = Reference(name, true_start + hand.start_angle_error_rad, HandScaleErrors().start_angle_sd_rad)
    readings = read_stops(path, reference, TableOptions(load_kg=40.0))
    estimate = estimate_at_stops(readings, reference, HandScale(), where=str(path))
    return estimate, scene.static_force_n(estimate.angle_rad - true_start)


def main() -> None:
    """Print a row for each machine and plan."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sessions", type=int, default=100)
    sessions = parser.parse_args().sessions
    print("| machine | plan | covered, % | mean band, % of peak | rms error, % of peak |")
    print("| --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        for first, (plan, words) in enumerate(PLANS.items()):
            totals = []
            for second, name in enumerate(scenario_names()):
                inside, width, square = [], [], []
                for number in range(sessions):
                    seed = number + sessions * (second + len(scenario_names()) * first)
                    estimate, truth = session(name, seed, Path(folder), words)
                    error, band = estimate.static_n[0] - truth, estimate.static_u95_n[0]
                    peak = np.max(np.abs(truth))
                    inside.append(np.mean(np.abs(error) <= band))
                    width.append(np.mean(band) / peak)
                    square.append(np.mean(error**2) / peak**2)
                row = (100 * np.mean(inside), 100 * np.mean(width), 100 * np.sqrt(np.mean(square)))
                totals.append(row)
                print(f"| {name} | {plan} | {row[0]:.1f} | {row[1]:.1f} | {row[2]:.2f} |", flush=True)
            mean = np.mean(totals, axis=0)
            print(f"| all | {plan} | {mean[0]:.1f} | {mean[1]:.1f} | {mean[2]:.2f} |", flush=True)


if __name__ == "__main__":
    main()
