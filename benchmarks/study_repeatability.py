"""Repeatability studies of known variances: do intervals hold the truth, and does the test of curves hold its error?

Every row is a design and true standard deviations in newtons of machine, operator, day and residual (remount), drawn
often. Held: percent of studies whose interval holds the truth. Open: percent whose upper limit is more than three times
the value.

    python benchmarks/study_repeatability.py --studies 1000
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Literal

import numpy as np

from feltload.coaching import (
    compare_paired_curves,
    intraclass_correlations,
    limits_of_agreement,
    study_design,
    variance_components,
)

#: Machines, operators, days, remounts; standard deviations of each; part of the measurements that is missing.
DESIGNS: Mapping[str, tuple[tuple[int, int, int, int], tuple[float, float, float, float], float]] = {
    "3 machines, 2 days": ((3, 1, 2, 1), (15.0, 0.0, 2.0, 2.0), 0.0),
    "10 machines, 2 days": ((10, 1, 2, 1), (15.0, 0.0, 2.0, 2.0), 0.0),
    "1 machine, 5 days, 3 remounts": ((1, 1, 5, 3), (0.0, 0.0, 2.0, 1.0), 0.0),
    "5 machines, 3 operators, 2 remounts": ((5, 3, 1, 2), (15.0, 2.0, 0.0, 1.0), 0.0),
    "6 machines, 2 operators, 3 days, 2 remounts": ((6, 2, 3, 2), (15.0, 1.0, 2.0, 1.0), 0.0),
    "6 machines, 4 operators, no difference": ((6, 4, 1, 2), (15.0, 0.0, 0.0, 1.0), 0.0),
    "6 machines, 3 operators, a quarter missing": ((6, 3, 1, 2), (15.0, 2.0, 0.0, 1.0), 0.25),
}
FACTORS = ("machine", "operator", "day", "remount")


def one_study(
    rng: np.random.Generator,
    shape: tuple[int, int, int, int],
    sd: tuple[float, float, float, float],
    missing: float,
) -> tuple[np.ndarray, dict[str, list[str]]]:
    """Values, and the labels of each."""
    at = [each.ravel() for each in np.indices(shape)]
    keep = rng.random(at[0].size) >= missing
    values = 250.0 + rng.normal(0.0, sd[3], at[0].size)
    for levels, spread in zip(at[:3], sd[:3], strict=True):
        values += rng.normal(0.0, spread, levels.max() + 1)[levels]
    return values[keep], {name: [str(k) for k in each[keep]] for name, each in zip(FACTORS, at, strict=True)}


def components_row(name: str, studies: int, seed: int) -> str:
    """How often the intervals of machine, measurement made again and within one occasion hold the truth."""
    shape, sd, missing = DESIGNS[name]
    rng = np.random.default_rng(seed)
    truths = {"machine": sd[0] ** 2, "again": sum(s**2 for s in sd[1:]), "residual": sd[3] ** 2}
    held, wide = dict.fromkeys(truths, 0), 0
    for k in range(studies):
        values, labels = one_study(rng, shape, sd, missing)
        found = variance_components(values, study_design(labels).terms, draws=2000, seed=k)
        parts = {part.name: part.variance for part in found.parts}
        again = found.total(without=("machine",))
        for what, of in (
            ("machine", parts.get("machine")),
            ("again", again),
            ("residual", parts["residual"]),
        ):
            held[what] += of is not None and of.lower <= truths[what] <= of.upper
        wide += again.upper > 9.0 * again.value
    shown = [f"{100 * held[what] / studies:.1f}" for what in truths]
    if shape[0] == 1:
        shown[0] = "–"
    return f"| {name} | {' | '.join(shown)} | {100 * wide / studies:.0f} |"


#: Machines and days; standard deviations of machine, day (for form 2,1) and residual.
TABLES: tuple[tuple[int, int, tuple[float, float, float]], ...] = (
    (3, 2, (6.0, 2.0, 2.0)),
    (6, 3, (6.0, 2.0, 2.0)),
    (20, 2, (6.0, 2.0, 2.0)),
    (20, 3, (6.0, 2.0, 2.0)),
    (20, 2, (6.0, 5.0, 2.0)),
    (20, 3, (6.0, 5.0, 2.0)),
    (20, 6, (6.0, 5.0, 2.0)),
    (20, 3, (2.0, 2.0, 2.0)),
    (20, 3, (15.0, 1.0, 1.0)),
)


def correlations_row(
    machines: int, days: int, sd: tuple[float, float, float], studies: int, seed: int
) -> str:
    """How often intervals of the three forms hold the truth, each in studies of its own model; of 2,1 both kinds."""
    rng = np.random.default_rng(seed)
    machine, day, error = sd
    shown = []
    for form, shift in (("1,1", 0.0), ("2,1", day), ("3,1", 5.0)):
        truth = machine**2 / (machine**2 + error**2 + (shift**2 if form == "2,1" else 0.0))
        # Limits of the other forms are the same in both kinds.
        kinds: tuple[Literal["generalized", "approximate"], ...] = ("approximate",)
        kinds = ("generalized", *kinds) if form == "2,1" else kinds
        inside = dict.fromkeys(kinds, 0)
        for _ in range(studies):
            table = rng.normal(0, machine, (machines, 1)) + rng.normal(0, shift, (1, days))
            table = table + rng.normal(0, error, (machines, days))
            for kind in kinds:
                every = intraclass_correlations(table, confidence=kind)
                found = next(each for each in every if each.form == form)
                inside[kind] += found.lower <= truth <= found.upper
        shown += [f"{100 * count / studies:.1f}" for count in inside.values()]
    head = f"{machines} machines, {days} days | {machine:g}, {day:g}, {error:g}"
    return f"| {head} | {' | '.join(shown)} |"


def limits_row(pairs: int, studies: int, seed: int) -> str:
    """How often the intervals of the upper limit of agreement hold it, exact and approximate."""
    rng = np.random.default_rng(seed)
    inside = {"exact": 0, "approximate": 0}
    for _ in range(studies):
        d = rng.normal(0, 1, pairs)
        exact = limits_of_agreement(d, np.zeros(pairs), confidence="exact").upper
        near = limits_of_agreement(d, np.zeros(pairs), confidence="approximate").upper
        inside["exact"] += exact.lower <= 1.96 <= exact.upper
        inside["approximate"] += near.lower <= 1.96 <= near.upper
    return (
        f"| {pairs} | {100 * inside['exact'] / studies:.1f} | {100 * inside['approximate'] / studies:.1f} |"
    )


def curves_row(machines: int, studies: int, seed: int) -> str:
    """How often a difference of curves is found where there is none, and where it is one of two standard deviations."""
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 1, 51)
    waves = np.array([np.cos(np.pi * k * x) / (1 + k) for k in range(5)])
    false = found = 0
    for _ in range(studies):
        noise = rng.normal(0, 1, (machines, 5)) @ waves
        bump = 2.0 * noise.std() * np.exp(-0.5 * ((x - 0.7) / 0.1) ** 2)
        zero = np.zeros_like(noise)
        false += compare_paired_curves(noise, zero).established.any()
        found += compare_paired_curves(noise + bump, zero).established[30:40].any()
    return f"| {machines} | {100 * false / studies:.1f} | {100 * found / studies:.0f} |"


def main() -> None:
    """Print the four tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--studies", type=int, default=1000)
    studies = parser.parse_args().studies
    print("| design | machine held, % | made again held, % | residual held, % | open, % |")
    print("| --- | --- | --- | --- | --- |")
    for seed, name in enumerate(DESIGNS):
        print(components_row(name, studies, seed), flush=True)
    print("\n| study | machine, day, residual, N | ICC(1,1) | ICC(2,1) | approximate | ICC(3,1) |")
    print("|" + " --- |" * 6)
    for seed, (machines, days, sd) in enumerate(TABLES):
        print(correlations_row(machines, days, sd, studies, seed), flush=True)
    print("\n| pairs | exact, % | approximate, % |\n| --- | --- | --- |")
    for seed, pairs in enumerate((3, 5, 10, 30)):
        print(limits_row(pairs, studies, seed), flush=True)
    print("\n| machines | found where there is none, % | found where there is, % |")
    print("| --- | --- | --- |")
    for seed, machines in enumerate((5, 6, 8, 12)):
        print(curves_row(machines, studies, seed), flush=True)


if __name__ == "__main__":
    main()
