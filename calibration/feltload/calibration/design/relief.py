"""What wider bounds would bring where the targets cannot be met."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.free import FreeDimension
from feltload.calibration.design.problem import Problem
from feltload.calibration.design.search import polish, search
from feltload.calibration.design.stages import Stage

_WIDER: Final = (0.1, 0.25, 0.5)


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
