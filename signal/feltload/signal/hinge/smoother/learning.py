"""How large a sensor's errors are, learned from the record itself: accelerometer axes, gyro noise, offset's walk.

Under vibration, or with readings lost or repeated on the way, a gyroscope wanders far more than its data sheet says,
and a cheap accelerometer's axes differ by far more than usual. Sizes are chosen that make the record most likely, with
what is usual as a prior: evidence maximisation, each size by factors (D. J. C. MacKay, Bayesian interpolation, Neural
Computation 4 (1992) 415).

Ranges and priors: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feltload.signal.hinge.smoother.observed import Observed
from feltload.signal.hinge.smoother.prior import SQUARENESS_ROWS
from feltload.signal.hinge.smoother.solver import Problem, Solution
from feltload.signal.noise.densities import InertialNoise

#: What is usual for an accelerometer's axes counts as this many readings when their size is learned, within this range.
USUAL_WEIGHT = 2.0
SQUARENESS_RANGE = (0.0008, 0.025)
#: Rounds of learning and solving, and searches in a round.
MOST_ROUNDS, MOST_TRIALS = 4, 40


@dataclass(frozen=True)
class Size:
    """A size that is searched: a field of the noise, the factor of a step, the range over what is usual."""

    field: str
    factor: float
    least: float
    most: float


SIZES = (
    Size("gyro_density_rad_s_rt_hz", 2.0, 0.45, 1000.0),
    Size("gyro_walk_rad_s_rt_s", 2.0, 1.0, 100.0),
    Size("accel_walk_m_s2_rt_s", 2.0, 0.25, 64.0),
)
#: A size that is off what is usual by this factor is one standard uncertainty off.
USUAL_FACTOR = 3.0


def learns_axes(noise: InertialNoise) -> bool:
    """Whether the size of the accelerometer's errors is left to the data; one that was calibrated stays."""
    return noise.accel_scale_limit_u > noise.accel_scale_u


def learned_solution(problem: Problem, found: Solution, usual: InertialNoise) -> tuple[Problem, Solution]:
    """The problem with sizes learned, starting from a solution, and its own solution.

    `usual` is what is known before the record; the problem may start from what single samples show.
    """
    for _ in range(MOST_ROUNDS):
        noise = _wandering(problem, found, usual)
        if problem.by_gravity and learns_axes(usual):
            noise = _axes(replace(problem, noise=noise), found, usual)
        if noise == problem.noise:
            break
        changed = any(getattr(noise, size.field) != getattr(problem.noise, size.field) for size in SIZES)
        problem = replace(problem, noise=noise)
        found = problem.again(found)
        if not changed:
            break
    return problem, found


def _axes(problem: Problem, found: Solution, usual: InertialNoise) -> InertialNoise:
    """One step of expectation maximisation on the size of scale and squareness errors."""
    noise = problem.noise
    rows = problem.prior.at(found.unknown)[0][SQUARENESS_ROWS]
    seen = (rows @ found.unknown) ** 2 + np.einsum("ij,jk,ik->i", rows, found.normal.inverse, rows)
    weight = USUAL_WEIGHT * usual.accel_scale_u**2 + float(np.sum(seen)) * noise.accel_scale_u**2
    size = float(np.clip(np.sqrt(weight / (USUAL_WEIGHT + len(seen))), *SQUARENESS_RANGE))
    return replace(noise, accel_scale_u=size, accel_scale_limit_u=max(usual.accel_scale_limit_u, size))


def _wandering(problem: Problem, found: Solution, usual: InertialNoise) -> InertialNoise:
    """The sizes of what wanders that make the record most likely, near a solution."""
    best, seen = problem.noise, problem.observed(found)
    least = _unlikeliness(problem, found, seen, usual)
    trials = 0
    for _ in range(2):
        before = best
        for size in SIZES:
            if size.field.startswith("accel") and not problem.by_gravity:
                continue
            for factor in (size.factor, 1.0 / size.factor):
                while trials < MOST_TRIALS:
                    value = getattr(best, size.field) * factor
                    ratio = value / getattr(usual, size.field)
                    if not 0.99 * size.least < ratio < 1.01 * size.most:
                        break
                    tried = replace(best, **{size.field: value})
                    trials += 1
                    unlikeliness = _unlikeliness(replace(problem, noise=tried), found, seen, usual)
                    if unlikeliness > least - 0.5:
                        break
                    best, least = tried, unlikeliness
        if best == before:
            break
    return best


def _unlikeliness(problem: Problem, found: Solution, seen: Observed, usual: InertialNoise) -> float:
    """Minus twice the logarithm of the evidence for the problem's noise, up to a constant, linearised at a solution."""
    gap = sum(np.log(getattr(problem.noise, size.field) / getattr(usual, size.field)) ** 2 for size in SIZES)
    return problem.evidence_cost(found, seen) + float(gap / np.log(USUAL_FACTOR) ** 2)
