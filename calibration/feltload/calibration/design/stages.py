"""The best single dimension, the best pair, and so on: what each further change buys."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.problem import Problem
from feltload.calibration.design.search import Solution, polish, search
from feltload.core import Floats

_BEAM: Final = 5
"""Sets of dimensions that the next stage starts from, where there are too many to try all."""
_ALL: Final = 20
_POLISHED: Final = 3
_MOST_BUILDS: Final = 64
_SAME: Final = 1e-6


@dataclass(frozen=True)
class Stage:
    """The best design of one number of changed dimensions.

    Attributes
    ----------
    moving : tuple of int
        Indices of the dimensions that change.
    parts : ndarray, shape (k,)
        All free dimensions as parts of their bounds, in steps that can be built.
    miss : float
        Largest distance from the targets in tolerances, as built.
    exact_miss : float
        The same if anything could be built.
    """

    moving: tuple[int, ...]
    parts: Floats
    miss: float
    exact_miss: float

    @property
    def meets(self) -> bool:
        """Whether every target is met."""
        return self.miss <= 1.0


def stages(problem: Problem, *, seed: int) -> tuple[Stage, ...]:
    """The best design of every number of changed dimensions, fewest first, to the first that meets and one more.

    Today's machine comes first, as a stage of no change, where it lies within the bounds.
    """
    forced = tuple(i for i, each in enumerate(problem.free) if each.must_move)
    found = []
    if not forced:
        miss = problem.miss(problem.today)
        found.append(Stage((), problem.today, miss, miss))
    beam: list[tuple[int, ...]] = [forced]
    for count in range(max(len(forced), 1), len(problem.free) + 1):
        sets = _larger(beam, forced, len(problem.free), count)
        near = found[-1].parts if found else None
        everything = count == len(problem.free)
        tried = sorted(
            (search(problem, each, seed=seed, everywhere=everything, near=near) for each in sets),
            key=lambda s: s.miss,
        )
        best = sorted((polish(problem, each) for each in tried[:_POLISHED]), key=lambda s: s.miss)
        built = [build(problem, each) for each in best]
        found.append(min(built, key=lambda stage: stage.miss))
        beam = [each.moving for each in (*best, *tried[_POLISHED:])][:_BEAM]
        if sum(stage.meets for stage in found if stage.moving) > 1:
            break
    return tuple(found)


def build(problem: Problem, solution: Solution) -> Stage:
    """The solution in steps that can be built: holes first, what is left is moved again, then to the nearest marks."""
    if not np.isfinite(solution.miss):
        return Stage(solution.moving, solution.parts, np.inf, np.inf)
    holes = [i for i in solution.moving if problem.free[i].from_low]
    rest = [i for i in solution.moving if i not in holes]
    best: tuple[float, Floats] = (np.inf, solution.parts)
    for chosen in _choices(problem, solution.parts, holes):
        parts = solution.parts.copy()
        parts[holes] = chosen
        again = _again(problem, parts, rest) if holes and rest else parts
        for marks in _choices(problem, again, rest):
            marked = again.copy()
            marked[rest] = marks
            miss = problem.miss(marked)
            if miss < best[0]:
                best = (miss, marked)
    return Stage(solution.moving, best[1], best[0], solution.miss)


def _again(problem: Problem, parts: Floats, rest: list[int]) -> Floats:
    """The dimensions `rest` moved once more with the others where they are."""
    solution = Solution(tuple(rest), parts, problem.miss(parts))
    return polish(problem, solution).parts if np.isfinite(solution.miss) else parts


def _choices(problem: Problem, parts: Floats, which: list[int]) -> Iterable[tuple[float, ...]]:
    """Every combination of the buildable values on either side; the nearest alone where those are too many."""
    sides = []
    for i in which:
        each = problem.free[i]
        near = (each.buildable(each.value(float(parts[i]))) - each.low) / each.span
        sides.append([float(part) for part in near])
    if len(sides) and np.prod([len(side) for side in sides]) > _MOST_BUILDS:
        sides = [
            [min(side, key=lambda part: abs(part - parts[i]))] for i, side in zip(which, sides, strict=True)
        ]
    return itertools.product(*sides)


def _larger(
    beam: list[tuple[int, ...]], forced: tuple[int, ...], total: int, count: int
) -> list[tuple[int, ...]]:
    """Sets of `count` dimensions: all where there are few, otherwise the best smaller ones with one more each."""
    every = [each for each in itertools.combinations(range(total), count) if set(forced) <= set(each)]
    if len(every) <= _ALL:
        return every
    return sorted(
        {tuple(sorted({*each, more})) for each in beam for more in range(total) if more not in each}
    )
