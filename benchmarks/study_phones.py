"""A phone's browser in place of an inertial sensor: what the profile is worth, and whether its band covers.

    python benchmarks/study_phones.py --sessions 96

For each case: draw the errors of chip, cell, start angle, load, clocks, mounting and person; let a browser make events
of the motion (60 Hz, jitter, rounded readings and stamps, a page that is busy); estimate; and compare with the truth at
the same angles, as `study_coverage.py` does. "locked" loses five to ten seconds in the middle of a set. The row of a
board of the same class ("board, 100 Hz") is the chip itself, read without a browser.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from dataclasses import replace

import numpy as np

from feltload.core import FeltloadError
from feltload.emulator import Browser, browser, browser_names, phone_events, scenario, simulate
from feltload.signal.pipeline import estimate
from rig_session import MACHINES, reference_of, session_of

KINDS = ("board, 100 Hz", *browser_names(), "locked")


def one(machine: str, kind: str, tempo: str, seed: int) -> tuple[float, float, float, float]:
    """Share of angles inside, largest |error| / half-width, rms error and half-width in percent of the peak."""
    scene = scenario(machine, sensors="phone", tempo=tempo, load_kg=40.0, systematic=True)
    run = simulate(scene, seed=seed)
    session = session_of(run, kind)
    if kind != KINDS[0]:
        rng = np.random.default_rng([seed, 3])
        told_by = Browser(stamp_s=1e-3) if kind == "locked" else browser(kind)
        middle = float(rng.uniform(0.4, 0.6)) * float(run.truth["t_s"].iloc[-1])
        locked = ((middle, middle + float(rng.uniform(5.0, 10.0))),) if kind == "locked" else ()
        frame = phone_events(run, told_by, seed=seed, locked=locked).frame(told_by)
        session = replace(session, inertial=frame, inertial_rate_hz=told_by.rate_hz)
    result = estimate([session], reference=reference_of(run))
    q = result.angle_rad - run.start_angle_rad
    truth = scene.static_force_n(q, float(result.loads_kg[0]))
    error = result.static_n[0] - truth
    ratio = np.abs(error) / result.static_u95_n[0]
    peak = np.max(np.abs(truth))
    return (
        float(np.mean(ratio <= 1.0)),
        float(np.max(ratio)),
        100.0 * float(np.sqrt(np.mean(error**2)) / peak),
        100.0 * float(np.mean(result.static_u95_n[0]) / peak),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--sessions", type=int, default=8 * len(KINDS))
    parser.add_argument("--first-seed", type=int, default=0)
    chosen = parser.parse_args()
    groups: dict[str, list[tuple[float, float, float, float]]] = defaultdict(list)
    refused: dict[str, int] = defaultdict(int)
    for seed in range(chosen.first_seed, chosen.first_seed + chosen.sessions):
        kind, machine = KINDS[seed % len(KINDS)], MACHINES[(seed // len(KINDS)) % len(MACHINES)]
        tempo = ("mixed", "slow", "brisk")[(seed // len(KINDS)) % 3]
        try:
            figures = one(machine, kind, tempo, seed)
        except FeltloadError as error:
            print(f"seed {seed}: {machine}, {kind}, {tempo}: refused: {error}", flush=True)
            refused[kind] += 1
            continue
        if figures[1] > 2.0:
            print(
                f"seed {seed}: {machine}, {kind}, {tempo}: worst error {figures[1]:.2f} half-widths",
                flush=True,
            )
        for key in (kind, *(("all browsers",) if kind != KINDS[0] else ())):
            groups[key].append(figures)
    print(
        "| events | cases | refused | pointwise % | whole curve % "
        "| rms error, % of peak (median, worst) | half-width, % of peak |"
    )
    print("|" + " --- |" * 7)
    for key in (*KINDS, "all browsers"):
        table = np.array(groups[key])
        if not len(table):
            continue
        print(
            f"| {key} | {len(table)} | {refused[key]} | {100 * table[:, 0].mean():.1f} "
            f"| {100 * np.mean(table[:, 1] <= 1):.0f} | {np.median(table[:, 2]):.2f}, {table[:, 2].max():.2f} "
            f"| {np.median(table[:, 3]):.2f} |"
        )


if __name__ == "__main__":
    main()
