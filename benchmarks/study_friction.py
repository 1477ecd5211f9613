"""Friction along the travel: its band, the tight spots that are named, and those that are not there.

    python benchmarks/study_friction.py --seeds 20

Eight machines, three classes of sensors, three tempi, every error drawn. A tight spot is a bell of friction drawn for
the session (3 to 10 N more, standard deviation 2 to 6 degrees, within 15 to 85 % of the travel). Smooth friction is the
machine as it is, or varies by up to 30 % over the travel. "Band": share of the angles at which the true friction lies
within the 95 % band. Two loads (20 and 40, 10 and 50 or 30 and 40 kg, one cell): friction of 2 to 10 N in any case,
and 0.05 to 0.3 N for every kilogram, in every third session none.
"""

from __future__ import annotations

import argparse
import dataclasses
from collections import defaultdict

import numpy as np

from feltload.emulator import Scenario, TightSpot, scenario, simulate
from feltload.signal.pipeline import estimate
from feltload.signal.profile.friction.by_load import friction_by_load
from feltload.signal.profile.friction.tight_spots import find_tight_spots
from rig_session import MACHINES, reference_of, same_cell, session_of

SENSORS = ("ordinary", "cheap", "fast")
LOADS_KG = ((20.0, 40.0), (10.0, 50.0), (30.0, 40.0))
TEMPI = ("mixed", "slow", "brisk")


def with_spot(scene: Scenario, rng: np.random.Generator) -> Scenario:
    """The session on a machine that rubs more somewhere."""
    travel = scene.machine.travel_rad
    spot = TightSpot(
        float(rng.uniform(0.15, 0.85)) * travel,
        float(rng.uniform(3.0, 10.0)),
        float(np.radians(rng.uniform(2.0, 6.0))),
    )
    friction = dataclasses.replace(scene.machine.friction, spots=(spot,))
    return dataclasses.replace(scene, machine=dataclasses.replace(scene.machine, friction=friction))


def with_smooth_course(scene: Scenario, rng: np.random.Generator) -> Scenario:
    """The session on a machine whose friction varies smoothly along the travel."""
    friction = dataclasses.replace(
        scene.machine.friction,
        position_share=float(rng.uniform(0.0, 0.3)),
        position_cycles=float(rng.uniform(0.3, 1.0)),
    )
    return dataclasses.replace(scene, machine=dataclasses.replace(scene.machine, friction=friction))


def row(name: str, sensors: str, tempo: str, seed: int, *, spotted: bool) -> list[float]:
    """Band held, spots named; of the right one: place off in degrees, size off, bands of friction there and size."""
    rng = np.random.default_rng([seed, 14])
    scene = scenario(name, sensors=sensors, tempo=tempo, systematic=True)
    scene = with_spot(scene, rng) if spotted else with_smooth_course(scene, rng) if seed % 2 else scene
    run = simulate(scene, seed=seed)
    result = estimate([session_of(run, "run")], reference=reference_of(run))
    q = result.angle_rad - run.start_angle_rad
    error = result.friction_n[0] - scene.friction_n(q)
    band = result.friction_band
    assert band is not None
    spots = find_tight_spots(result.angle_rad, result.friction_n[0], band.of_load(0), coverage=band.coverage)
    out = [
        float(np.mean(np.abs(error) <= band.u95_n[0])),
        float(np.sqrt(np.mean(error**2))),
        float(np.mean(band.u95_n[0])),
        float(len(spots)),
    ]
    if not spotted:
        return [*out, np.nan, np.nan, np.nan, np.nan, np.nan]
    (true,) = scene.machine.friction.spots
    away = [abs(np.degrees(s.angle_rad - run.start_angle_rad - true.at_rad)) for s in spots]
    if not away or min(away) > 5.0:
        return [*out, 0.0, np.nan, np.nan, np.nan, np.nan]
    best = spots[int(np.argmin(away))]
    off = best.excess_n - true.extra_n
    there = best.friction_n - float(scene.friction_n(np.array([best.angle_rad - run.start_angle_rad]))[0])
    held = [float(abs(there) <= best.friction_u95_n), float(abs(off) <= best.excess_u95_n)]
    return [*out, 1.0, min(away), off, *held]


def two_loads(name: str, sensors: str, tempo: str, seed: int) -> list[float]:
    """Whether each part's band holds, half-widths of both, both errors; named as growing, and grows."""
    rng = np.random.default_rng([seed, 41])
    per_load = float(rng.uniform(0.05, 0.3)) if rng.random() > 1.0 / 3.0 else 0.0
    steady = float(rng.uniform(2.0, 10.0))
    runs = []
    for number, load in enumerate(LOADS_KG[seed % len(LOADS_KG)]):
        scene = scenario(name, sensors=sensors, tempo=tempo, load_kg=load, systematic=True)
        friction = dataclasses.replace(scene.machine.friction, coulomb_n=steady, per_load_n_per_kg=per_load)
        scene = dataclasses.replace(scene, machine=dataclasses.replace(scene.machine, friction=friction))
        runs.append(simulate(scene, seed=seed * 10 + number))
    sessions = [session_of(same_cell(run, runs[0]), f"{run.load_kg:g} kg") for run in runs]
    result = estimate(sessions, reference=reference_of(runs[0]))
    parts = friction_by_load(result.loads_kg, result.friction_n, result.friction_band)
    q = result.angle_rad - runs[0].start_angle_rad
    true_steady = float(np.mean(runs[0].scenario.friction_n(q, 0.0)))
    true_per_kg = float(np.mean(runs[0].scenario.friction_n(q, 1.0))) - true_steady
    off, per_kg_off = parts.steady_n - true_steady, parts.per_kg_n - true_per_kg
    return [
        float(abs(off) <= parts.steady_u95_n), parts.steady_u95_n, off,
        float(abs(per_kg_off) <= parts.per_kg_u95_n), parts.per_kg_u95_n, per_kg_off,
        float(parts.parted), float(parts.grows), float(true_per_kg > 0.0),
    ]  # fmt: skip


def study_two_loads(seeds: int, first_seed: int) -> None:
    groups: dict[str, list[list[float]]] = defaultdict(list)
    for number, name in enumerate(MACHINES):
        for seed in range(first_seed, first_seed + seeds):
            sensors, tempo = SENSORS[seed % 3], TEMPI[(seed // 3 + number) % 3]
            one = two_loads(name, sensors, tempo, seed * 10 + number)
            loads = "{:g} and {:g} kg".format(*LOADS_KG[(seed * 10 + number) % len(LOADS_KG)])
            for key in ("all", sensors, tempo, loads):
                groups[key].append(one)
    print("\ntwo loads\n")
    print(
        "| group | pairs | steady: band % | half-width N | rms N | per kg: band % | half-width N | rms N ",
        end="",
    )
    print("| parted % | growth seen % | growth that is not there % |")
    print("|" + " --- |" * 11)
    for key, values in sorted(groups.items(), key=lambda item: item[0] != "all"):
        t = np.array(values)
        rms = np.sqrt(np.mean(t[:, [2, 5]] ** 2, axis=0))
        grows = t[:, 8] > 0
        print(
            f"| {key} | {len(t)} | {100 * t[:, 0].mean():.0f} | {np.median(t[:, 1]):.2f} | {rms[0]:.2f} "
            f"| {100 * t[:, 3].mean():.0f} | {np.median(t[:, 4]):.3f} | {rms[1]:.3f} | {100 * t[:, 6].mean():.0f} "
            f"| {100 * t[grows, 7].mean():.0f} | {100 * t[~grows, 7].mean():.0f} |"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--loads-only", action="store_true", help="only the table of two loads")
    chosen = parser.parse_args()
    for spotted in () if chosen.loads_only else (True, False):
        groups: dict[str, list[list[float]]] = defaultdict(list)
        for number, name in enumerate(MACHINES):
            for seed in range(chosen.first_seed, chosen.first_seed + chosen.seeds):
                sensors, tempo = SENSORS[seed % 3], TEMPI[(seed // 3 + number) % 3]
                one = row(name, sensors, tempo, seed * 10 + number, spotted=spotted)
                if (spotted and not one[4]) or one[3] > spotted:
                    print(f"{name}, {sensors}, {tempo}, seed {seed * 10 + number}: {np.round(one, 2)}")
                for key in ("all", name, sensors, tempo):
                    groups[key].append(one)
        print(f"\n{'a tight spot' if spotted else 'smooth friction'}\n")
        print(
            "| group | sessions | band % | rms N | half-width N | spots named | found % | place off, ° (worst) ",
            end="",
        )
        print("| size off N, mean (rms) | friction there in its band % | size in its band % |")
        print("|" + " --- |" * 11)
        for key, values in sorted(groups.items(), key=lambda item: item[0] != "all"):
            table = np.array(values)
            mean = [
                float(np.nanmean(column)) if np.any(np.isfinite(column)) else np.nan for column in table.T
            ]
            rms = float(np.sqrt(np.mean(table[:, 1] ** 2)))
            size = np.sqrt(np.nanmean(table[:, 6] ** 2)) if spotted else np.nan
            worst = np.nanmax(table[:, 5]) if spotted else np.nan
            print(
                f"| {key} | {len(table)} | {100 * mean[0]:.1f} | {rms:.2f} | {mean[2]:.2f} | {table[:, 3].sum():.0f} "
                f"| {100 * mean[4]:.0f} | {mean[5]:.1f} ({worst:.1f}) | {mean[6]:+.2f} ({size:.2f}) "
                f"| {100 * mean[7]:.0f} | {100 * mean[8]:.0f} |"
            )
    study_two_loads(chosen.seeds, chosen.first_seed)


if __name__ == "__main__":
    main()
