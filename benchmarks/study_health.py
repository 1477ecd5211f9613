"""What `feltload health` finds on machines that wear, and what it finds on those that do not.

    python benchmarks/study_health.py --seeds 20

Every session has its own dice: sensors re-mounted, their errors, the tempo. The truth of a machine over time is
written here, apart from everything that estimates it: nothing changes, a bent guide (a bell of 2 to 6 N, 3 to 6 degrees
wide, somewhere along the travel), wear (dry friction grows by 5 % a month, with 3 % of scatter from day to day, six
months), a new belt (friction 30 % lower), a cold room (friction 15 % higher everywhere). "Place": the middle of what is
named against the true one; "elsewhere": share of the sessions in which friction is said to have changed more than three
widths away from the bell.
"""

from __future__ import annotations

import argparse
import dataclasses
from collections import defaultdict

import numpy as np

from feltload.app.files.provenance import Provenance, RecordingSource
from feltload.app.jobs.upkeep.changes import compare_entries, trends
from feltload.app.jobs.upkeep.entries import HealthEntry
from feltload.core import runs_of_true
from feltload.emulator import Friction, Scenario, TightSpot, scenario, simulate
from feltload.signal.pipeline import estimate
from rig_session import reference_of, same_cell, session_of

MACHINES = ("lever-row", "over-the-top", "four-bar")
SENSORS = ("ordinary", "cheap", "fast")
MONTHS = 6


def entry(scene: Scenario, seed: int, day: int, cell_of=None):
    """One measurement of a machine, as it is kept; with its run."""
    run = simulate(scene, seed=seed)
    if cell_of is not None:
        run = same_cell(run, cell_of)
    result = estimate([session_of(run, f"day {day}")], reference=reference_of(run))
    source = RecordingSource(
        name="r", sha256=f"{seed}", load_kg=scene.load_kg, force_certificates=("one",),
        started_utc=f"20{30 + day // 360}-{1 + day // 30 % 12:02d}-{1 + day % 28:02d}T10:00:00+00:00",
    )  # fmt: skip
    return HealthEntry.of(result, Provenance(feltload="0", recordings=(source,))), run


def with_friction(scene: Scenario, friction: Friction) -> Scenario:
    return dataclasses.replace(scene, machine=dataclasses.replace(scene.machine, friction=friction))


def study(kind: str, name: str, sensors: str, seed: int) -> dict[str, float]:
    rng = np.random.default_rng([seed, 16])
    # Both times the same plates are stated.
    scene = dataclasses.replace(scenario(name, sensors=sensors, systematic=True), u_load_share=0.0)
    own = scene.machine.friction
    before, first_run = entry(scene, 1000 * seed, 0)
    now, spot = own, None
    if kind == "bent guide":
        spot = TightSpot(
            float(rng.uniform(0.2, 0.8)) * scene.machine.travel_rad,
            float(rng.uniform(2.0, 6.0)),
            float(np.radians(rng.uniform(3.0, 6.0))),
        )
        now = dataclasses.replace(own, spots=(spot,))
    elif kind in ("new belt", "cold room"):
        now = scaled(own, 0.7 if kind == "new belt" else 1.15)
    if kind == "wear":
        return wear(scene, before, seed, rng, first_run)
    after, _ = entry(with_friction(scene, now), 1000 * seed + 1, 30, first_run)
    (change,) = (c for c in compare_entries(after, before, times=1) if c.now.kind == "friction")
    curve = change.curve
    assert curve is not None
    true = with_friction(scene, now).friction_n(curve.angle_rad) - scene.friction_n(curve.angle_rad)
    apart = curve.established
    out = {
        "mean found": float(change.established),
        "mean right way": float(
            change.established and np.sign(change.difference) == np.sign(true.mean() or 1.0)
        ),
        "places found": float(apart.any()),
        "anything": float(change.established or apart.any()),
        "band": float(np.mean(np.abs(curve.values - true) <= curve.u95)),
        "whole band": float(np.all(np.abs(curve.values - true) <= curve.curve_u95)),
        "mean band": float(abs(curve.mean - true.mean()) <= curve.mean_u95),
        "half-width": float(np.mean(curve.u95)),
        "mean half-width": curve.mean_u95,
    }
    if spot is not None:
        rose = apart & (curve.values > 0)
        near = np.abs(curve.angle_rad - spot.at_rad) < 3.0 * spot.width_rad
        out["found there"] = float((rose & near).any())
        out["elsewhere"] = float((apart & ~near).any())
        runs = runs_of_true(rose)
        if runs:
            begin, stop = max(runs, key=lambda run: curve.values[run[0] : run[1]].max())
            middle = 0.5 * (curve.angle_rad[begin] + curve.angle_rad[stop - 1])
            out["place off, deg"] = float(np.degrees(middle - spot.at_rad))
    return out


def scaled(friction: Friction, by: float) -> Friction:
    return dataclasses.replace(
        friction, coulomb_n=by * friction.coulomb_n, per_load_n_per_kg=by * friction.per_load_n_per_kg
    )


def wear(
    scene: Scenario, first: HealthEntry, seed: int, rng: np.random.Generator, cell_of
) -> dict[str, float]:
    """Six months of one measurement each."""
    kept, own = [first], scene.machine.friction
    for month in range(1, MONTHS + 1):
        size = 1.05**month * (1.0 + rng.normal(0.0, 0.03))
        kept.append(
            entry(with_friction(scene, scaled(own, size)), 1000 * seed + month, 30 * month, cell_of)[0]
        )
    (since_first,) = (c for c in compare_entries(kept[-1], first, times=2) if c.now.kind == "friction")
    (since_last,) = (c for c in compare_entries(kept[-1], kept[-2], times=2) if c.now.kind == "friction")
    (trend,) = (t for t in trends(kept) if t.value.kind == "friction")
    mean = float(np.mean(scene.friction_n(np.array(first.rotation_rad))))
    true = mean * (1.05**MONTHS - 1.0) / MONTHS
    return {
        "seen since first": float(since_first.established),
        "seen since last": float(since_last.established),
        "trend seen": float(trend.established and trend.per_month > 0),
        "trend in band": float(abs(trend.per_month - true) <= trend.u95),
        "trend, N a month": trend.per_month,
        "true": true,
        "its half-width": trend.u95,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--only", default="")
    chosen = parser.parse_args()
    for kind in ("nothing", "bent guide", "wear", "new belt", "cold room"):
        if chosen.only and kind != chosen.only:
            continue
        groups: dict[str, list[dict[str, float]]] = defaultdict(list)
        for number, name in enumerate(MACHINES):
            for seed in range(chosen.seeds):
                sensors = SENSORS[seed % 3]
                one = study(kind, name, sensors, 100 * number + seed)
                for key in ("all", sensors):
                    groups[key].append(one)
        print(f"\n{kind}\n")
        for key, found in groups.items():
            names = list(dict.fromkeys(name for one in found for name in one))
            told = ", ".join(
                f"{name} {np.mean([one[name] for one in found if name in one]):.3g}"
                for name in names
                if name in found[0]
            )
            print(f"{key} ({len(found)}): {told}")


if __name__ == "__main__":
    main()
