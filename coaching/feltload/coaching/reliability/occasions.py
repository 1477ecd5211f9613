"""Measurements arranged by machine and occasion: trials, complete tables, pairs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.design import DAY, MACHINE, OPERATOR, REMOUNT
from feltload.coaching.reliability.limits import LimitsOfAgreement, limits_of_agreement
from feltload.core import Floats

MOST_LEVELS_PAIRED = 3
"""Of more levels each is compared with the first alone."""


@dataclass(frozen=True)
class OccasionPair:
    """Two levels of a factor compared on the machines that both have.

    Attributes
    ----------
    factor, first, second : str
        Such as ``operator``, ``AB`` and ``CD``.
    machines : tuple of str
    first_values, second_values : ndarray, shape (machines,)
        Means of each machine at each level.
    averaged : int
        Most values that one of these means is of.
    limits : LimitsOfAgreement
        First minus second, with exact confidence.
    """

    factor: str
    first: str
    second: str
    machines: tuple[str, ...]
    first_values: Floats
    second_values: Floats
    averaged: int
    limits: LimitsOfAgreement


def trials_of(values: Floats, machines: Sequence[str]) -> dict[str, list[float]]:
    """Values of each machine, in order."""
    trials: dict[str, list[float]] = defaultdict(list)
    for value, machine in zip(values, machines, strict=True):
        trials[machine].append(float(value))
    return dict(trials)


def common_table(
    values: Floats, labels: Mapping[str, Sequence[str]]
) -> tuple[Floats, tuple[str, ...], tuple[str, ...]] | None:
    """Machines by occasions, one value a cell.

    Occasions are combinations of operator, day and remount that at least half of the machines have.

    Returns
    -------
    table : ndarray, shape (machines, occasions)
    kept, left_out : tuple of str
        Machines with every occasion, and the others.

    None where fewer than two machines share two occasions, or a cell has several values.
    """
    factors = [labels[name] for name in (OPERATOR, DAY, REMOUNT) if name in labels]
    occasions = list(zip(*factors, strict=True)) if factors else [()] * len(values)
    cells: dict[str, dict[tuple[str, ...], float]] = defaultdict(dict)
    for value, machine, occasion in zip(values, labels[MACHINE], occasions, strict=True):
        if occasion in cells[machine]:
            return None
        cells[machine][occasion] = float(value)
    shared = [
        occasion
        for occasion in sorted(set(occasions))
        if 2 * sum(occasion in each for each in cells.values()) >= len(cells)
    ]
    kept = tuple(machine for machine, each in cells.items() if all(occasion in each for occasion in shared))
    if len(kept) < 2 or len(shared) < 2:
        return None
    table = np.array([[cells[machine][occasion] for occasion in shared] for machine in kept])
    return table, kept, tuple(machine for machine in cells if machine not in kept)


def level_pairs(labels: Mapping[str, Sequence[str]], compare: str | None) -> list[tuple[str, str, str]]:
    """Factor and two of its levels, for each comparison to be made."""
    varying = [name for name in (OPERATOR, DAY, REMOUNT) if name in labels and len(set(labels[name])) > 1]
    factor = compare if compare in varying else None if compare else next(iter(varying), None)
    if factor is None:
        return []
    levels = list(dict.fromkeys(labels[factor]))
    pairs = list(combinations(levels, 2))
    if len(levels) > MOST_LEVELS_PAIRED:
        pairs = [(levels[0], other) for other in levels[1:]]
    return [(factor, first, second) for first, second in pairs]


def compared_pairs(
    values: Floats, labels: Mapping[str, Sequence[str]], compare: str | None, *, unit: str = ""
) -> tuple[tuple[OccasionPair, ...], tuple[tuple[str, str, int], ...]]:
    """Limits of agreement of the levels of a factor, and the pairs of levels that give none with their machines."""
    found: list[OccasionPair] = []
    missing: list[tuple[str, str, int]] = []
    for factor, first, second in level_pairs(labels, compare):
        cells: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
        for value, machine, level in zip(values, labels[MACHINE], labels[factor], strict=True):
            cells[machine][level].append(float(value))
        machines = [name for name, each in cells.items() if first in each and second in each]
        means = np.array([[np.mean(cells[m][level]) for level in (first, second)] for m in machines])
        try:
            limits = limits_of_agreement(means[:, 0], means[:, 1], unit=unit) if machines else None
        except CoachingError:
            limits = None
        if limits is None:
            missing.append((f"{factor} {first}", f"{factor} {second}", len(machines)))
            continue
        most = max(len(cells[machine][level]) for machine in machines for level in (first, second))
        found.append(
            OccasionPair(factor, first, second, tuple(machines), means[:, 0], means[:, 1], most, limits)
        )
    return tuple(found), tuple(missing)
