"""Predictions against machines written apart, and verdicts on targets whose limit is the truth.

    python benchmarks/study_predict.py --draws 400

Bands: each kind of machine is predicted from its file once, and built many times with dimensions (and gravity) drawn as
uncertain as the file says, by the emulator, which shares no code with the product. How often the true force lies in the
95 % band: on average over positions, at the worst position, and for slow raising and lowering, with friction by hand
where the file states losses, else drawn from a stated range.

Verdicts (``--verdicts``): the file is drawn around a true machine instead, and the target's limit is what the true
machine does. Neither verdict can be relied on there: each should be given 5 % of the time at most.
"""

from __future__ import annotations

import argparse

import numpy as np

from feltload.calibration import (
    FrictionRange,
    GeometryError,
    PredictionFact,
    TargetVerdict,
    judge_profile,
    local_gravity,
    parse_machine,
    parse_target,
    predict_profile,
)
from feltload.core import Floats, InputError
from rig_predict import World, worlds

RANGE = FrictionRange(4.0, 12.0)


def bands(draws: int, names: list[str]) -> None:
    """How often the truth lies in the band."""
    print(
        "| machine | peak, N | mean band, ± N | in band | worst position | raising, lowering | simulated | no machine |"
    )
    print("|" + " --- |" * 8)
    for world in worlds():
        if not names or world.name in names:
            print(_covered(world, draws), flush=True)


def _covered(world: World, draws: int) -> str:
    place = local_gravity()
    stated = None if world.friction_n else RANGE
    try:
        made = predict_profile(
            parse_machine(world.text(world.values)),
            travel_rad=world.travel_rad,
            loads_kg=np.array([world.load_kg]),
            friction=stated,
        ).estimate
    except GeometryError as error:
        return f"| {world.name} | refused: {error.what} | | | | | | |"
    q = made.angle_rad - made.start_angle_rad
    static, half = made.static_n[0], made.static_u95_n[0]
    both = np.hypot(half, made.friction_u95_n[0])
    rng = np.random.default_rng(7)
    inside, sides, none = [], [], 0
    for _ in range(draws):
        values, g = world.drawn(rng), place.value + place.u * rng.standard_normal()
        try:
            true = world.static_n(values, q, g)
        except InputError:
            none += 1
            continue
        rubs = (
            world.friction_n(values, world.load_kg, g)
            if world.friction_n
            else rng.uniform(RANGE.low, RANGE.high)
        )
        inside.append(np.abs(true - static) <= half)
        sides += [
            np.abs(true + way * rubs - static - way * made.friction_n[0]) <= both for way in (1.0, -1.0)
        ]
    simulated = any(fact.kind is PredictionFact.NOT_LINEAR for fact in made.warnings)
    where = np.mean(inside, axis=0)
    return (
        f"| {world.name} | {np.max(np.abs(static)):.0f} | {np.mean(half):.1f} | {100.0 * where.mean():.1f} % "
        f"| {100.0 * where.min():.1f} % | {100.0 * np.mean(sides):.1f} % | {'yes' if simulated else ''} "
        f"| {none or ''} |"
    )


def _limits(force: Floats, middle: float) -> dict[str, str]:
    """Targets whose limit a true curve lies on; `middle` is the force halfway along the handle's way."""
    peak, low = force.max(), force.min()
    change = 100.0 * (force[-1] / force[0] - 1.0)
    part = abs(change)
    half = 100.0 * (peak - low) / (peak + low)
    way = "falls" if change < 0.0 else "rises"
    return {
        "at most the peak": f"at most {peak:.9g} N",
        "at least the force midway": f"at least {middle:.9g} N at middle",
        "falls or rises at least so much": f"{way} at least {part:.9g} %",
        "falls or rises, upper end of a tolerance": f"{way} {max(part - 16.0, 0.02):.9g} to {part:.9g} %",
        "constant within": f"constant within {half:.9g} %",
        "a force ± 25 % at the end": f"{force[-1] / 1.25:.9g} ± {0.25 * force[-1] / 1.25:.9g} N at end",
    }


def verdicts(draws: int, names: list[str]) -> None:
    """How often a verdict is given at the limit itself."""
    print("| machine | target, its limit the truth | met | not met | cannot be determined |")
    print("|" + " --- |" * 5)
    for world in worlds():
        if names and world.name not in names:
            continue
        q = np.linspace(0.0, world.travel_rad, 81)
        true = world.static_n(world.values, q, local_gravity().value)
        if true.min() <= 0.0:
            continue
        way = np.cumsum(world.build(world.values).handle_travel_m(q))
        texts = _limits(true, float(np.interp(0.5 * (way[0] + way[-1]), way, true)))
        targets = {text: parse_target(text)[0] for text in texts.values()}
        said: dict[str, list[TargetVerdict]] = {text: [] for text in targets}
        rng = np.random.default_rng(11)
        for _ in range(draws):
            try:
                made = predict_profile(
                    parse_machine(world.text(world.drawn(rng))),
                    travel_rad=world.travel_rad,
                    loads_kg=np.array([world.load_kg]),
                    trials=300,
                )
            except GeometryError:
                continue
            for text, target in targets.items():
                said[text].append(judge_profile(made.estimate, [target])[0].verdict)
        for name, text in texts.items():
            shares = [100.0 * np.mean([each is kind for each in said[text]]) for kind in TargetVerdict]
            print(
                f"| {world.name} | {name} | " + " | ".join(f"{share:.1f} %" for share in shares) + " |",
                flush=True,
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--draws", type=int, default=400)
    parser.add_argument("--machine", action="append", default=[], help="its name; all unless given")
    parser.add_argument("--verdicts", action="store_true")
    chosen = parser.parse_args()
    (verdicts if chosen.verdicts else bands)(chosen.draws, chosen.machine)


if __name__ == "__main__":
    main()
