"""A sensor that turned on the part about the hinge's own axis: gyro and gravity turn with it, its place does not.

Gravity in the sensor's frame and the integrated rate both follow the sensor, so they agree whatever it does on the
part. What tells is its own acceleration: seen from the sensor, the way to the pivot lies elsewhere after a slip.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import numpy as np

from feltload.signal.hinge.smoother.solver import Problem, Solution

BLOCK_S = 5.0
#: Directions of the pivot over a block scatter by this beyond the noise: tempo, delays, scale errors.
SCATTER_RAD = np.radians(0.6)
#: A block that says less than this is left out; fewer than this many on either side say nothing.
VAGUE_RAD = np.radians(1.5)
FEWEST_BLOCKS = 2
#: Smallest slip that is reported, over its uncertainty and as such.
OVER_UNCERTAINTY = 4.0
SMALLEST_RAD = np.radians(1.3)


def slip_about_hinge(problem: Problem, found: Solution) -> tuple[float, float] | None:
    """When and by how much (rad) the sensor turned about the hinge on the part, if it did.

    Notes
    -----
    Linearised about the solution: a turn by d in the sensor's frame adds ``d j x (D rate² + E acceleration)`` to what
    is felt. Its part along the change by the angle is left to the drift. Slow motion leaves too little acceleration.
    """
    lin = found.linearised
    away, beside = found.unknown[9:12], found.unknown[12:15]
    own = np.outer(lin.functions[3], away) + np.outer(lin.functions[4], beside)
    turned = np.cross(problem.equations.data.axis, own)
    unit = lin.by_angle / np.maximum(np.linalg.norm(lin.by_angle, axis=1, keepdims=True), 1e-9)
    turned -= np.sum(turned * unit, axis=1, keepdims=True) * unit
    weight = found.weight / (found.sigma**2 * found.inflation)
    time_s = problem.equations.time_s
    block = ((time_s - time_s[0]) / BLOCK_S).astype(int)
    information = np.bincount(block, weight * np.sum(turned * turned, axis=1))
    seen = information > VAGUE_RAD**-2
    if np.count_nonzero(seen) < 2 * FEWEST_BLOCKS:
        return None
    direction = np.bincount(block, weight * np.sum(turned * lin.residual, axis=1))[seen] / information[seen]
    precision = 1.0 / (1.0 / information[seen] + SCATTER_RAD**2)
    total, moment = np.cumsum(precision), np.cumsum(precision * direction)
    split = np.arange(FEWEST_BLOCKS - 1, len(total) - FEWEST_BLOCKS)
    left, right = total[split], total[-1] - total[split]
    change = (moment[-1] - moment[split]) / right - moment[split] / left
    best = int(np.argmax(np.abs(change) / np.sqrt(1.0 / left + 1.0 / right)))
    at, size = int(split[best]), float(change[best])
    # Blocks that wander as much within the sides as between them show no slip.
    sides = np.where(
        np.arange(len(total)) <= at, moment[at] / total[at], (moment[-1] - moment[at]) / right[best]
    )
    excess = max(float(np.mean(precision * (direction - sides) ** 2)), 1.0)
    if abs(size) < max(
        SMALLEST_RAD, OVER_UNCERTAINTY * np.sqrt(excess * (1.0 / left[best] + 1.0 / right[best]))
    ):
        return None
    starts = time_s[0] + BLOCK_S * np.flatnonzero(seen)
    return float(starts[at + 1]), size
