"""What the targets say about the free dimensions: which have no say, and which of them only count together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.free import FreeDimension
from feltload.calibration.design.problem import Problem
from feltload.calibration.errors import DesignError, GeometryError
from feltload.core import Floats

_NO_SAY: Final = 1e-6
"""Tolerances for a whole span of the bounds: a dimension that does less has no say."""
_FLAT: Final = 0.05
"""Tolerances for a whole span: a combination that does less can be chosen freely."""
_PART: Final = 0.15
_TRIED: Final = 256
_LOOKED_AT: Final = 6


@dataclass(frozen=True)
class FreeCombination:
    """Dimensions that can change together without the targets noticing.

    Attributes
    ----------
    free : tuple of FreeDimension
    per_first : tuple of float
        SI change of each for a change of the first by one unit, SI; 1 for the first.
    """

    free: tuple[FreeDimension, ...]
    per_first: tuple[float, ...]


def require_say(problem: Problem, *, seed: int) -> None:
    """Refuse free dimensions that no target depends on, and bounds in which no machine can be assembled.

    Raises
    ------
    DesignError
    GeometryError
    """
    # Slow to import, and only a design needs it.
    from scipy.stats import qmc

    k = len(problem.free)
    spread = np.vstack((np.clip(problem.today, 0.0, 1.0), qmc.Halton(k, seed=seed).random(_TRIED)))
    good, refused = [], ""
    for parts in spread:
        try:
            problem.forces_n(problem.values(parts))
        except GeometryError as error:
            refused = error.what
            continue
        if np.isfinite(problem.residuals(parts)).all():
            good.append(parts)
        if len(good) == _LOOKED_AT:
            break
    if not good:
        because = f"; the last of them: {refused}" if refused else ", or resists the way that is wanted"
        raise GeometryError(
            f"within the bounds none of {len(spread)} machines tried can be assembled over the travel{because}",
            where=problem.machine.name,
            remedy="widen the bounds, shorten the travel, or let another dimension move",
        )
    slopes = np.max([np.abs(problem.jacobian(parts, range(k))).max(axis=0) for parts in good], axis=0)
    silent = [i for i, slope in enumerate(slopes) if slope < _NO_SAY]
    if silent:
        names = " and ".join(problem.free[i].parameter.key.dotted for i in silent)
        raise DesignError(
            f"no target depends on {names}",
            where="--move",
            remedy=_what_to_do(problem, good[0], silent, names),
        )


def _what_to_do(problem: Problem, parts: Floats, silent: list[int], names: str) -> str:
    """What helps where dimensions have no say: a load, a target in newtons, or another dimension."""
    loaded = {rider.name for rider in problem.machine.riders if getattr(rider, "is_load", False)}
    if not any(problem.loads_kg) and all(problem.free[i].parameter.key.part in loaded for i in silent):
        return "serve a load above zero: without one these are empty places"
    here = np.concatenate(list(problem.forces_n(problem.values(parts)).values()))
    for i in silent:
        moved = parts.copy()
        moved[i] += 0.1 if parts[i] < 0.5 else -0.1
        there = np.concatenate(list(problem.forces_n(problem.values(moved)).values()))
        if np.abs(there - here).max() < _NO_SAY * np.abs(here).max():
            return f"leave out {names}: the force at rest does not change with it"
    return f"give a force in newtons as well: {names} changes the whole curve in proportion, and its shape not at all"


def free_combinations(problem: Problem, parts: Floats) -> tuple[FreeCombination, ...]:
    """Combinations of two dimensions or more that the targets leave free at these dimensions."""
    slopes = problem.jacobian(parts, range(parts.size))
    _, sizes, ways = np.linalg.svd(slopes, full_matrices=True)
    sizes = np.concatenate((sizes, np.zeros(parts.size - sizes.size)))
    found = []
    for size, way in zip(sizes, ways, strict=True):
        involved = np.flatnonzero(np.abs(way) > _PART * np.abs(way).max())
        if size > _FLAT or involved.size < 2:
            continue
        free = tuple(problem.free[i] for i in involved)
        change = [way[i] * problem.free[i].span for i in involved]
        found.append(FreeCombination(free, tuple(float(each / change[0]) for each in change)))
    return tuple(found)
