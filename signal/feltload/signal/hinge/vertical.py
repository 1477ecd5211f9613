"""A hinge so near to vertical that gravity says nothing of its angle: gyroscope, rests and ends of travel alone.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum

import numpy as np

from feltload.core import Flags
from feltload.signal.hinge.samples import InertialSamples
from feltload.signal.hinge.smoother.learning import learned_solution
from feltload.signal.hinge.smoother.model import FUNCTIONS, GLOBALS, GRAVITY_M_S2, SCALE
from feltload.signal.hinge.smoother.places import Places, ends_of_travel, joined, rests_on_the_stop
from feltload.signal.hinge.smoother.prior import LEAST_GRAVITY_M_S2
from feltload.signal.hinge.smoother.solver import Problem, Solution
from feltload.signal.noise.densities import InertialNoise

#: Part of gravity that lies along the axis of such a hinge at least, whatever the fit of the rest says.
ALONG_SHARE = 0.9
#: Beside rests, ends of travel are asked only if they are as sharp as a stop.
SHARP_U_RAD = np.radians(0.5)


class Hold(StrEnum):
    """What holds the angle where gravity does not."""

    STOP = "stop"
    RESTS = "rests"
    ENDS = "ends"
    NOTHING = "nothing"


def is_vertical(problem: Problem, found: Solution) -> bool:
    """Whether too little of gravity lies in the plane of turning to tell the angle."""
    in_plane = float(np.linalg.norm(found.unknown[3:6]))
    along = abs(float(problem.equations.data.axis @ found.unknown[:3]))
    return in_plane < LEAST_GRAVITY_M_S2 and along > ALONG_SHARE * GRAVITY_M_S2


def vertical_solution(
    problem: Problem, samples: InertialSamples, still: Flags, usual: InertialNoise
) -> tuple[Problem, Solution]:
    """The problem without gravity, with the places that hold the angle instead, and its solution.

    The gyroscope's scale stays at its prior: nothing in the record tells it.
    """
    data, knots = problem.equations.data, problem.knots
    alone = replace(problem, by_gravity=False, places=None)
    rests = len(knots.still) > 0
    bias = -float(np.median(knots.still_rate[knots.still])) if rests else -float(np.mean(data.rate))
    found = alone.solve(
        bias * (knots.time_s - knots.time_s[0]), np.full(len(knots.time_s), bias), np.zeros(GLOBALS)
    )
    if not rests:
        # Without rest and gravity the prior of the bias pulls the drift away; the mean rate is near enough at first.
        found = replace(found, state=found.state.copy())
        found.state[:, 0] = bias * (knots.time_s - knots.time_s[0])
    for _ in range(2):
        places = _places(problem, found, samples, still)
        alone = replace(alone, places=places)
        if places is None:
            break
        found = alone.again(found)
    alone, found = learned_solution(alone, found, usual)
    return alone, _with_coefficients(alone, found)


def held_by(problem: Problem) -> Hold:
    """What holds the angle of a problem without gravity."""
    if problem.places is not None:
        return Hold.STOP if np.any(problem.places.level == 0) else Hold.ENDS
    return Hold.RESTS if len(problem.knots.still) else Hold.NOTHING


def _places(problem: Problem, found: Solution, samples: InertialSamples, still: Flags) -> Places | None:
    data, knots = problem.equations.data, problem.knots
    theta = data.sample_turned + np.interp(samples.time_s, knots.time_s, found.drift)
    stop = rests_on_the_stop(data, still, samples.time_s, theta)
    ends = ends_of_travel(data.time_s, data.turned, np.interp(data.time_s, samples.time_s, theta))
    if ends is not None and len(knots.still) and np.max(ends.u_rad) > SHARP_U_RAD:
        ends = None
    return joined(stop, ends)


def _with_coefficients(problem: Problem, found: Solution) -> Solution:
    """The solution with what the accelerometer reads at its angle: where gravity points, and what is left over."""
    equations, data = problem.equations, problem.equations.data
    drift, drift_rate = problem.knots.on(data.time_s, found.state)
    functions = equations.functions(float(found.unknown[SCALE]), drift, drift_rate)
    trusted = equations.trusted
    rows = functions[:, trusted].T
    # A little damping keeps what the motion does not tell apart small.
    gram = rows.T @ rows + 1e-3 * len(rows) * np.diag([0.0, 1.0, 1.0, 1.0, 1.0]) * np.mean(rows**2, axis=0)
    fitted = np.linalg.solve(gram, rows.T @ equations.measured[trusted])
    unknown = found.unknown.copy()
    unknown[: 3 * FUNCTIONS] = fitted.ravel()
    left = equations.measured[trusted] - rows @ fitted
    return replace(found, unknown=unknown, sigma=1.4826 * float(np.median(np.abs(left))))
