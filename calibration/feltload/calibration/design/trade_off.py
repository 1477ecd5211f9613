"""Which targets are in each other's way, and what each would have to yield for the others to be met."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.problem import Demand, Problem
from feltload.calibration.design.search import Solution, polish, search, squeeze
from feltload.calibration.design.stages import Stage
from feltload.core import Floats

_YIELDS: Final = 0.9
_SHARES: Final = (0.1, 0.25, 0.5, 0.75, 0.9)
_COMPARED: Final = 6
"""Demands of which every two are compared: those that are missed most."""
_MET: Final = 1.0 + 1e-3


@dataclass(frozen=True)
class TradeOff:
    """How near a design comes to one demand where it comes so near to another.

    Attributes
    ----------
    first, second : Demand
    misses : tuple of (float, float)
        Largest distance from the first and from the second, in tolerances; by falling miss of the second.
    others : tuple of float
        Largest distance from the other demands at each point; 0 where there are none.
    """

    first: Demand
    second: Demand
    misses: tuple[tuple[float, float], ...]
    others: tuple[float, ...]


@dataclass(frozen=True)
class Yielding:
    """What one demand would have to yield for the others to be met.

    Attributes
    ----------
    demand : Demand
    times : float or None
        What its tolerance has to be multiplied by; None where the others cannot be met even without it.
    others : float
        Largest distance from the others then, in tolerances.
    """

    demand: Demand
    times: float | None
    others: float


@dataclass(frozen=True)
class Conflict:
    """What is known of demands that cannot be met together.

    Attributes
    ----------
    trade_offs : tuple of TradeOff
        The front between the two that are in each other's way most; empty where the bounds are, not another demand.
    yielding : tuple of Yielding
        One for each demand; empty where there is one alone.
    """

    trade_offs: tuple[TradeOff, ...] = ()
    yielding: tuple[Yielding, ...] = ()


def conflict_of(problem: Problem, stage: Stage, *, seed: int) -> Conflict:
    """Compare the demands of a problem that was not solved, as if any dimension could be built."""
    if len(problem.demands) < 2:
        return Conflict()
    best = polish(problem, search(problem, range(len(problem.free)), seed=seed, near=stage.parts))
    if not np.isfinite(best.miss):
        return Conflict()
    yielding = tuple(_yielding(problem, best, at) for at in range(len(problem.demands)))
    return Conflict(_trade_offs(problem, best), yielding)


def _yielding(problem: Problem, best: Solution, at: int) -> Yielding:
    rest = _only(problem, [i for i in range(len(problem.demands)) if i != at])
    without = polish(rest, dataclasses.replace(best, miss=rest.miss(best.parts)))
    demand = problem.demands[at]
    if without.miss > _MET:
        return Yielding(demand, None, without.miss)
    own = _rows(problem) == at
    tried = [without.parts, squeeze(problem, without, np.where(own, 0.0, 1.0), own.astype(float))]
    found = []
    for parts in tried:
        misses = _misses(problem, parts)
        others = max(miss for i, miss in enumerate(misses) if i != at)
        if others <= _MET:
            found.append((misses[at], others))
    times, others = min(found)
    return Yielding(demand, times, others)


def _trade_offs(problem: Problem, best: Solution) -> tuple[TradeOff, ...]:
    first, second = _worst_pair(problem, best)
    rows = _rows(problem)
    of_first, of_second = rows == first, rows == second
    # The others are held where they can all be had, or where they are missed as little as can be.
    held = np.where(of_first | of_second, 0.0, max(1.0, best.miss))
    misses, others = [], []
    for share in _SHARES:
        squeezed = share * of_first + (1.0 - share) * of_second
        found = _misses(problem, squeeze(problem, best, held, squeezed))
        misses.append((found[first], found[second]))
        others.append(max((miss for i, miss in enumerate(found) if i not in (first, second)), default=0.0))
    if any(min(pair[side] for pair in misses) > _YIELDS * best.miss for side in (0, 1)):
        # Neither yields for the other: the bounds are in the way, not the other demand.
        return ()
    return (TradeOff(problem.demands[first], problem.demands[second], tuple(misses), tuple(others)),)


def _worst_pair(problem: Problem, best: Solution) -> tuple[int, int]:
    """The two demands that can be met together least, whatever becomes of the others."""
    missed = np.argsort(_misses(problem, best.parts))[::-1][:_COMPARED]

    def together(pair: tuple[int, int]) -> float:
        two = _only(problem, pair)
        return polish(two, dataclasses.replace(best, miss=two.miss(best.parts))).miss

    pairs = list(itertools.combinations(sorted(map(int, missed)), 2))
    return pairs[0] if len(pairs) == 1 else max(pairs, key=together)


def _only(problem: Problem, which: Sequence[int]) -> Problem:
    return dataclasses.replace(problem, demands=tuple(problem.demands[i] for i in which))


def _rows(problem: Problem) -> Floats:
    """Index of the demand that each residual belongs to, (n,)."""
    return np.repeat(range(len(problem.demands)), [each.placed.at_rad.size for each in problem.demands])


def _misses(problem: Problem, parts: Floats) -> list[float]:
    """Largest distance from each demand, in its tolerances."""
    off = np.abs(problem.deviations(parts))
    rows = _rows(problem)
    return [float(off[rows == i].max()) for i in range(len(problem.demands))]
