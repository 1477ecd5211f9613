"""Whether a design finds a machine that meets its target, where one is known to exist, on thirteen machines.

For each draw another machine of the same kind is made by drawing the free dimensions evenly within their bounds; its
curve at two loads, within 2 % of its peak at nine positions of the travel, is the target.

Usage: python benchmarks/study_design.py [--draws N] [--machines NAME ...]
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass

import numpy as np

from feltload.calibration import (
    FreeDimension,
    GeometryError,
    Machine,
    ParameterKey,
    Proposal,
    Target,
    TargetAxis,
    TargetScale,
    example_text,
    free_dimension,
    parse_machine,
    propose_design,
)
from feltload.core import STANDARD_GRAVITY_M_S2, Floats

LOADS_KG = (20.0, 60.0)
POSITIONS = 9
TOLERANCE = 0.02
"""Of the peak at each load."""
SPRING = """
[[spring]]
name = "return spring"
radius = "200(2) mm"
angle = "-40(1) deg"
anchor_x = "150(2) mm"
anchor_y = "-420(2) mm"
stiffness = "800(20) N/m"
free_length = "180(2) mm"
"""
CHAIN = """
[[chain]]
name = "chain"
radius = "600(2) mm"
angle = "-22(1) deg"
density = "6.0(0.1) kg/m"
length = "900(5) mm"
floor = "-700(5) mm"
"""
DRUM = 'drum_radius = "95(1) mm"'


@dataclass(frozen=True)
class World:
    """A machine, what may move by which part of its value or by how many degrees or kilograms, and the travel."""

    text: str
    moves: dict[str, float]
    travel_deg: float


def worlds() -> dict[str, World]:
    """The machines, by name."""
    lever, bar, cable = (example_text(kind) for kind in ("lever", "four-bar", "cable"))
    table = cable[cable.index("cam = [") : cable.index("handle_radius")]
    drum = cable.replace(table, DRUM + "\n")
    plates = {"plates.radius": 0.3, "plates.angle": 35.0}
    links = {"input_length": 0.15, "coupler_length": 0.15, "rocker_length": 0.15, "ground_length": 0.15}
    return {
        "lever": World(lever, {**plates, "counterweight.radius": 0.4, "counterweight.angle": 40.0}, 80.0),
        "lever, six free": World(
            lever,
            {
                **plates,
                "counterweight.mass": 3.0,
                "counterweight.angle": 40.0,
                "arm.angle": 15.0,
                "handle_radius": 0.15,
            },
            80.0,
        ),
        "lever, hinge inclined": World(
            lever.replace('hinge_inclination = "0(0.5) deg"', 'hinge_inclination = "25 deg"'),
            {**plates, "hinge_inclination": 20.0},
            70.0,
        ),
        "lever, strap that stays put": World(
            lever.replace(
                'handle_radius = "655(2) mm"', 'handle_radius = "655(2) mm"\npull_direction = "75 deg"'
            ),
            {**plates, "pull_direction": 15.0},
            60.0,
        ),
        "lever and spring": World(
            lever + SPRING,
            {
                **plates,
                "return spring.anchor_x": 0.5,
                "return spring.anchor_y": 0.3,
                "return spring.stiffness": 0.5,
            },
            70.0,
        ),
        "lever and chain": World(lever + CHAIN, {**plates, "chain.density": 0.5, "chain.floor": 0.2}, 70.0),
        "linkage, plates": World(bar, {"plates.radius": 0.3, "plates.angle": 35.0}, 50.0),
        "linkage, links": World(bar, links, 50.0),
        "linkage, six free": World(bar, {**links, "plates.radius": 0.2, "plates.angle": 25.0}, 50.0),
        "drum": World(drum, {"drum_radius": 0.3, "handle_radius": 0.2, "lever.angle": 40.0}, 90.0),
        "cam": World(cable, {"handle_radius": 0.2, "lever.radius": 0.5, "lever.angle": 40.0}, 90.0),
        "straight pull": World(
            example_text("straight-pull"), {"carriage.mass": 1.4, "pulley_efficiency": 0.03}, 500.0
        ),
        "sled": World(example_text("sled"), {"incline": 20.0, "sled.mass": 15.0, "handle_ratio": 0.2}, 600.0),
    }


def bounds(machine: Machine, moves: dict[str, float]) -> tuple[FreeDimension, ...]:
    """Free dimensions: lengths and the like within a part of their value, angles and masses within a difference."""
    found = []
    for name, reach in moves.items():
        parameter = machine.parameter(ParameterKey.from_dotted(name))
        # Elevations and masses have no part of themselves that would be a fair reach.
        half = reach * parameter.per_unit if parameter.unit in ("deg", "kg") else reach * abs(parameter.value)
        low = max(parameter.value - half, parameter.limits.low)
        found.append(free_dimension(parameter, low, min(parameter.value + half, parameter.limits.high)))
    return tuple(found)


def wanted(machine: Machine, free: tuple[FreeDimension, ...], q_rad: Floats, seed: int) -> tuple[Target, ...]:
    """The curves of another machine of the same kind, that resists everywhere."""
    rng = np.random.default_rng(seed)
    while True:
        values = {
            each.parameter.key: each.value(float(part))
            for each, part in zip(free, rng.random(len(free)), strict=True)
        }
        try:
            curves = machine.midway_forces_n(q_rad, LOADS_KG, STANDARD_GRAVITY_M_S2, changed=values)
        except GeometryError:
            continue
        if min(float(curve.min()) for curve in curves) > 0.0:
            break
    part = np.linspace(0.0, 1.0, q_rad.size)
    return tuple(
        Target(
            f"another machine with {load:g} kg",
            TargetAxis.TRAVEL,
            part,
            curve,
            np.full(q_rad.size, TOLERANCE * float(curve.max())),
            TargetScale.NEWTONS,
            between=False,
            load_kg=load,
        )
        for load, curve in zip(LOADS_KG, curves, strict=True)
    )


def design(world: World, seed: int) -> Proposal:
    """One design."""
    machine = parse_machine(world.text)
    free = bounds(machine, world.moves)
    travel = float(np.radians(world.travel_deg))
    targets = wanted(machine, free, np.linspace(0.0, travel, POSITIONS), seed)
    return propose_design(machine, free, targets, loads_kg=LOADS_KG, travel_rad=travel, seed=seed)


def main() -> None:
    """Print a row for each machine."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--draws", type=int, default=10)
    parser.add_argument("--machines", nargs="*", help="names of some of the machines")
    asked = parser.parse_args()
    print(
        "| machine | free | met | met as built | largest miss as built | changed of free, mean | processor s, mean |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, world in worlds().items():
        if asked.machines and name not in asked.machines:
            continue
        began = time.process_time()
        found = [design(world, seed) for seed in range(asked.draws)]
        spent = (time.process_time() - began) / asked.draws
        exact, built = (
            sum(least <= 1.0 for least in misses)
            for misses in (
                [min(stage.exact_miss for stage in each.stages) for each in found],
                [each.stage.miss for each in found],
            )
        )
        worst = max(each.stage.miss for each in found)
        changed = np.mean([len(each.dimensions) for each in found])
        row = f"{len(world.moves)} | {exact} of {asked.draws} | {built} of {asked.draws} | {worst:.2f}"
        print(f"| {name} | {row} | {changed:.1f} | {spent:.1f} |", flush=True)


if __name__ == "__main__":
    main()
