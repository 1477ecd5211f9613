"""Errors of the accelerometer that come back with the angle: repetitions do not average them out.

A part that bends, an accelerometer that is not linear, vibration: the residuals' means over bins of the angle show
their size, and the solution's own equations what they do to it.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats
from feltload.signal.hinge.smoother.knots import STATES
from feltload.signal.hinge.smoother.model import GLOBALS, MOVED, SCALE, Linearised
from feltload.signal.hinge.smoother.solver import Problem, Solution

BIN_RAD = np.radians(15.0)
FEWEST_IN_BIN = 8.0
#: Number of the residuals' means that the fitted unknowns take up.
FITTED = 9


@dataclass(frozen=True)
class SystematicErrors:
    """What each of d independent errors of one standard uncertainty does to the solution.

    Attributes
    ----------
    drift : ndarray, shape (k, d)
        At the knots.
    scale : ndarray, shape (d,)
        Of the gyroscope.
    """

    drift: Floats
    scale: Floats


def systematic_errors(problem: Problem, found: Solution) -> SystematicErrors:
    """One error for each bin of the angle and each component of the accelerometer."""
    knots, data = problem.knots, problem.equations.data
    none = SystematicErrors(np.zeros((len(knots.time_s), 1)), np.zeros(1))
    if not problem.by_gravity:
        return none
    when, lin = problem.equations.time_s, found.linearised
    theta = (1.0 + found.unknown[SCALE]) * np.interp(when, data.time_s, data.turned)
    theta += np.interp(when, knots.time_s, found.drift)
    bins = ((theta - np.min(theta)) / BIN_RAD).astype(int)
    total = np.bincount(bins, found.weight)
    full = np.flatnonzero(total > FEWEST_IN_BIN)
    if len(full) < 3:
        return none
    sums = np.stack([np.bincount(bins, found.weight * column) for column in lin.residual.T], axis=1)
    means = sums[full] / total[full, None]
    noise = found.sigma**2 * found.inflation / total[full]
    left = max(means.size - FITTED, means.size / 3.0)
    square = float(np.sum(means**2 - noise[:, None])) / left
    if square <= 0.0:
        return none
    weight = np.sqrt(square) * found.weight / (found.sigma**2 * found.inflation)
    rights, corners = [], []
    for number in full:
        own = np.where(bins == number, weight, 0.0)
        for component in range(3):
            moved, by_unknown = _derivatives(lin, component)
            right = np.zeros((len(knots.time_s), STATES))
            right[:, MOVED] = problem.shares.gather(own[:, None] * moved, len(right))
            rights.append(right.ravel())
            corners.append(own @ by_unknown)
    drift, unknown = found.normal.solve_for(np.stack(rights, axis=1), np.stack(corners, axis=1))
    return SystematicErrors(drift[::STATES], unknown[SCALE])


def _derivatives(lin: Linearised, component: int) -> tuple[Floats, Floats]:
    """Of one component of the equations to what `MOVED` names, (e, 3), and to the global unknowns, (e, 22)."""
    count = len(lin.by_angle)
    moved = np.column_stack([lin.by_angle[:, component], *np.tile(lin.across[:, [component]], count)])
    by_unknown = np.zeros((count, GLOBALS))
    by_unknown[:, component:15:3] = lin.functions.T
    for column, other in lin.others:
        by_unknown[:, column] = other[:, component]
    return moved, by_unknown
