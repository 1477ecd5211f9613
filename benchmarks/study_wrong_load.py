"""Is a wrong load named, a right one left alone, and a wrong machine file not blamed on the load? The truth is known.

    OPENBLAS_NUM_THREADS=1 python benchmarks/study_wrong_load.py --cases 6 --limit-s 1200

Emulated machines of seven kinds with a drawn survey, two classes of sensors, loads of 10 to 80 kg, one recording or
two, each a file that `measure` and `check_measured` get, as in `feltload profile` and `check`. A load is stated right;
wrong by 2.5 to 20 kg (in the recording of one load, or in one of two); or it is right and the true machine is not the
surveyed one: its peg 20 mm further out, or its friction doubled.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from feltload.calibration import AgreementFact, ExplanationKind
from feltload.core import FeltloadError
from feltload.emulator.machines.dynamics import Lever, MachineDynamics
from feltload.emulator.machines.linked import CamDrum, FourBarLever
from feltload.emulator.machines.sled import RailSled
from rig_wrong_load import MACHINES, Case, made_case

SENSORS = ("ordinary", "cheap")
WRONG_KG = (2.5, 5.0, 10.0, 20.0)
PEG_M = 0.02


@dataclass(frozen=True)
class World:
    """What is true beside what is stated."""

    kind: str
    true_kg: tuple[float, ...]
    stated_kg: tuple[float, ...]
    changed: Callable[[MachineDynamics], MachineDynamics] | None = None


def peg_out(machine: MachineDynamics) -> MachineDynamics:
    """The plates 20 mm further out; a cam or drum that much larger in proportion to a peg at 300 mm."""
    if isinstance(machine, Lever):
        masses = (
            replace(mass, radius_m=mass.radius_m + PEG_M) if mass.mass_kg is None else mass
            for mass in machine.masses
        )
        return replace(machine, masses=tuple(masses))
    if isinstance(machine, FourBarLever):
        return replace(machine, peg_radius_m=machine.peg_radius_m + PEG_M)
    if isinstance(machine, RailSled):
        # Nothing hangs on a peg: rails that are steeper raise the force as much.
        return replace(
            machine, incline_rad=float(np.arcsin(np.sin(machine.incline_rad) * (1.0 + PEG_M / 0.3)))
        )
    if isinstance(machine, CamDrum):
        return replace(machine, mean_radius_m=machine.mean_radius_m * (1.0 + PEG_M / 0.3))
    return machine


def friction_doubled(machine: MachineDynamics) -> MachineDynamics:
    """Twice the dry friction."""
    friction = machine.friction
    twice = replace(
        friction,
        coulomb_n=2.0 * friction.coulomb_n,
        per_load_n_per_kg=2.0 * friction.per_load_n_per_kg,
    )
    return replace(machine, friction=twice)


def worlds(rng: np.random.Generator) -> Iterator[World]:
    """Worlds in turn, with drawn loads."""
    while True:
        low, high = (float(2.5 * rng.integers(*ends)) for ends in ((4, 17), (17, 33)))
        one = float(2.5 * rng.integers(4, 33))
        for loads in ((one,), (low, high)):
            yield World("right", loads, loads)
            off = float(rng.choice(WRONG_KG) * rng.choice([-1.0, 1.0]))
            which = int(rng.integers(len(loads)))
            stated = list(loads)
            stated[which] += off if stated[which] + off >= 5.0 else -off
            if len(set(stated)) == len(stated):
                yield World("load wrong", loads, tuple(stated))
            yield World("peg 20 mm out", loads, loads, peg_out)
            yield World("friction doubled", loads, loads, friction_doubled)


@dataclass(frozen=True)
class Outcome:
    """What profile and check said of one world."""

    world: World
    machine: str
    sensors: str
    said: str
    beyond: float


def outcome(world: World, case: Case) -> str:
    """In a word what was said: the load, the load or a dimension, a dimension, something, or nothing."""
    named = [f for f in case.measurement.estimate.warnings if f.kind == AgreementFact.LOAD_LOOKS_LIKE]
    explanation = case.check.agreement.explanation
    kind = case.check.agreement.explanation_kind
    if bool(named) != bool(explanation.loads):
        return "profile and check differ"
    if named:
        true = dict(zip(world.stated_kg, world.true_kg, strict=True))
        for fact in named:
            real = true[min(true, key=lambda stated: abs(stated - fact.figure("stated_kg")))]
            near = abs(fact.figure("looks_like_kg") - real) <= 1.6 * fact.figure("u95_kg") + 0.01 * real
            if world.kind == "load wrong" and not near and not fact.figures["tied"]:
                return "another load"
        return "load or file" if any(fact.figures["tied"] for fact in named) else "load"
    if kind is ExplanationKind.NOTHING_DIFFERS:
        return "agrees"
    if kind is ExplanationKind.BANDS_TOO_WIDE:
        return "too wide"
    if kind is ExplanationKind.DIMENSIONS_MOVED:
        return "file or load" if explanation.load_instead else "file"
    return "differs"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--cases", type=int, default=8, help="per machine and class of sensors")
    parser.add_argument("--first-seed", type=int, default=1)
    parser.add_argument("--limit-s", type=float, default=1200.0)
    parser.add_argument("--machines", nargs="+", default=MACHINES)
    given = parser.parse_args()
    begun, found = time.monotonic(), []
    rigs = [(machine, sensors) for sensors in SENSORS for machine in given.machines]
    drawn = {rig: worlds(np.random.default_rng([given.first_seed, k])) for k, rig in enumerate(rigs)}
    with tempfile.TemporaryDirectory() as folder:
        for number in range(given.cases):
            for k, (machine, sensors) in enumerate(rigs):
                if time.monotonic() - begun > given.limit_s:
                    break
                world = next(drawn[machine, sensors])
                seed = 10_000 * given.first_seed + 100 * number + k
                try:
                    case = made_case(
                        machine,
                        sensors,
                        world.true_kg,
                        world.stated_kg,
                        seed,
                        Path(folder),
                        changed=world.changed,
                    )
                    said, beyond = outcome(world, case), case.beyond
                except FeltloadError as error:
                    said, beyond = f"refused: {error}", float("nan")
                found.append(Outcome(world, machine, sensors, said, beyond))
                print(
                    f"{machine}, {sensors}: {world.kind}, {world.true_kg} stated {world.stated_kg}: "
                    f"{said} ({beyond:.1f} bands)",
                    flush=True,
                )
    _print_tables(found)


def _print_tables(found: list[Outcome]) -> None:
    groups: dict[str, Counter[str]] = {}
    for one in found:
        name = one.world.kind
        if name == "load wrong":
            name += ", beyond the band" if one.beyond > 1.0 else ", within the band"
        name += ", two loads" if len(one.world.true_kg) > 1 else ", one load"
        groups.setdefault(name, Counter())[one.said.split(":")[0]] += 1
    said = sorted({word for counts in groups.values() for word in counts})
    print("\n| world | cases | " + " | ".join(said) + " |\n|" + " --- |" * (2 + len(said)))
    for name, counts in sorted(groups.items()):
        print(f"| {name} | {counts.total()} | " + " | ".join(str(counts[word]) for word in said) + " |")


if __name__ == "__main__":
    main()
