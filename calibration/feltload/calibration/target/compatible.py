"""Whether one curve could meet several targets at once, by linear programming."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final

import numpy as np

from feltload.calibration.errors import TargetError
from feltload.calibration.target.placed import PlacedTarget
from feltload.calibration.target.target import TargetScale
from feltload.core import Floats

_LEAST_N: Final = 1.0
"""A handle force below this is none."""


def require_compatible(targets: Sequence[PlacedTarget]) -> None:
    """Refuse targets that no curve meets.

    Every target is a set of linear inequalities on the forces and on its own scale, so whether any force curve at all
    meets them is a linear program; whether a machine can have that curve is another question.

    Parameters
    ----------
    targets : sequence of PlacedTarget
        On one travel, for one load.

    Raises
    ------
    TargetError
        They contradict one another; names two that do, where two suffice.
    """
    if len(targets) < 2 or _possible(targets):
        return
    for first, second in itertools.combinations(targets, 2):
        if not _possible([first, second]):
            raise TargetError(
                f'contradicts "{second.target.text}": no curve meets both',
                where=first.target.text,
                remedy="change one of them, or widen a tolerance",
            )
    raise TargetError(
        "the targets contradict one another: no curve meets all of them",
        where=", ".join(f'"{each.target.text}"' for each in targets),
        remedy="leave one out, or widen a tolerance",
    )


def _possible(targets: Sequence[PlacedTarget]) -> bool:
    # Slow to import, and one target alone needs none of it.
    from scipy.optimize import linprog

    places = np.unique(np.concatenate([each.at_rad for each in targets]))
    unknowns = places.size + len(targets)
    rows, bounds = [], []
    for k, each in enumerate(targets):
        low, high, constant = _rows(each, places, places.size + k, unknowns)
        rows += [low[each.lower], high[each.upper]]
        bounds += [constant[0][each.lower], constant[1][each.upper]]
    # With forces of zero any relative target would be met.
    limits = [(_LEAST_N, None)] * unknowns
    found = linprog(np.zeros(unknowns), A_ub=np.concatenate(rows), b_ub=np.concatenate(bounds), bounds=limits)
    return bool(found.status != 2)


def _rows(
    target: PlacedTarget, places: Floats, scale_column: int, unknowns: int
) -> tuple[Floats, Floats, tuple[Floats, Floats]]:
    """Inequalities ``rows @ (forces, scales) <= constants`` for the low and the high limits."""
    n = target.at_rad.size
    at = np.searchsorted(places, target.at_rad)
    half = target.tolerance.copy()
    force = np.zeros((n, unknowns))
    force[np.arange(n), at] = 1.0
    if target.target.scale is TargetScale.NEWTONS:
        return -force, force, (-(target.wanted - half), target.wanted + half)
    column = scale_column
    unit = 1.0
    if target.target.scale is TargetScale.FIRST:
        column, unit = int(at[target.first]), float(target.wanted[target.first])
        half[target.first] = 0.0
    low, high = -force, force.copy()
    low[:, column] += (target.wanted - half) / unit
    high[:, column] -= (target.wanted + half) / unit
    return low, high, (np.zeros(n), np.zeros(n))
