"""What would help where the targets cannot be met: wider bounds, or targets left to themselves."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.free import FreeDimension
from feltload.calibration.design.problem import Demand, Problem
from feltload.calibration.design.search import polish, search
from feltload.calibration.design.stages import Stage

_WIDER: Final = (0.1, 0.25, 0.5)
_YIELDS: Final = 0.9
_SHARES: Final = (0.1, 0.25, 0.5, 0.75, 0.9)


@dataclass(frozen=True)
class Relief:
    """What bounds wider by a part of their width, on either side, would bring.

    Attributes
    ----------
    wider : float
        Part of the width that is added on either side.
    miss : float
        Largest distance from the targets then, in tolerances; before it is brought to steps that can be built.
    """

    wider: float
    miss: float


@dataclass(frozen=True)
class TradeOff:
    """How near a design comes to one demand where it comes so near to another.

    Attributes
    ----------
    first, second : Demand
    misses : tuple of (float, float)
        Largest distance from the first and from the second, in tolerances; by falling miss of the second.
    """

    first: Demand
    second: Demand
    misses: tuple[tuple[float, float], ...]


def widened(problem: Problem, stage: Stage, *, seed: int) -> tuple[Relief, ...]:
    """The miss with wider bounds, until it is met; a bound that such a dimension cannot pass stays."""
    found = []
    spans, lows = np.array([[each.span, each.low] for each in problem.free]).T
    for part in _WIDER:
        free = tuple(_wider(each, part) for each in problem.free)
        wide = dataclasses.replace(problem, free=free)
        everything = range(len(free))
        # The same design as parts of the wider bounds.
        same = (stage.parts * spans + lows - [each.low for each in free]) / [each.span for each in free]
        best = polish(wide, search(wide, everything, seed=seed, near=same))
        found.append(Relief(part, min(best.miss, stage.exact_miss)))
        if best.miss <= 1.0:
            break
    return tuple(found)


def _wider(each: FreeDimension, part: float) -> FreeDimension:
    low, high = each.parameter.limits.low, each.parameter.limits.high
    return dataclasses.replace(
        each, low=max(each.low - part * each.span, low), high=min(each.high + part * each.span, high)
    )


def trade_offs(problem: Problem, stage: Stage, *, seed: int) -> tuple[TradeOff, ...]:
    """The front between the two demands that are in each other's way most; empty where there is one demand alone."""
    if len(problem.demands) < 2:
        return ()
    everything = range(len(problem.free))
    best = polish(problem, search(problem, everything, seed=seed, near=stage.parts))
    off = np.abs(problem.deviations(best.parts))
    ends = np.cumsum([demand.placed.at_rad.size for demand in problem.demands])
    each = [float(part.max()) for part in np.split(off, ends[:-1])]
    first, second = sorted(np.argsort(each)[-2:])
    misses = []
    for share in _SHARES:
        pair = (_scaled(problem.demands[first], share), _scaled(problem.demands[second], 1.0 - share))
        others = tuple(d for i, d in enumerate(problem.demands) if i not in (first, second))
        weighed = dataclasses.replace(problem, demands=(*pair, *others))
        found = polish(weighed, dataclasses.replace(best, miss=weighed.miss(best.parts)))
        off = np.abs(weighed.deviations(found.parts))
        n = pair[0].placed.at_rad.size
        m = n + pair[1].placed.at_rad.size
        misses.append((float(off[:n].max()) * share, float(off[n:m].max()) * (1.0 - share)))
    if any(min(pair[side] for pair in misses) > _YIELDS * best.miss for side in (0, 1)):
        # Neither yields for the other: the bounds are in the way, not the other demand.
        return ()
    return (TradeOff(problem.demands[first], problem.demands[second], tuple(misses)),)


def _scaled(demand: Demand, tolerance: float) -> Demand:
    """The demand with its tolerance multiplied."""
    placed = dataclasses.replace(demand.placed, tolerance=demand.placed.tolerance * tolerance)
    return dataclasses.replace(demand, placed=placed)
