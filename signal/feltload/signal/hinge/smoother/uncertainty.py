"""How well the rotation is known: what is common, what grows with it, what belongs to the position, what is left."""

from __future__ import annotations

import numpy as np

from feltload.core import Floats
from feltload.signal.hinge.samples import InertialSamples
from feltload.signal.hinge.smoother.knots import KNOT_S, STATES
from feltload.signal.hinge.smoother.model import SCALE
from feltload.signal.hinge.smoother.normal import drift_variance
from feltload.signal.hinge.smoother.prior import POINT_ROWS, SQUARENESS_ROWS
from feltload.signal.hinge.smoother.solver import Problem, Solution
from feltload.signal.hinge.smoother.systematic import systematic_errors


def angle_uncertainty(
    problem: Problem,
    found: Solution,
    samples: InertialSamples,
    turned: Floats,
    where: tuple[float, float],
    off_axis: float = 0.0,
) -> tuple[Floats, float, float, Floats, Floats]:
    """Standard uncertainty of q: in all, of the reference, of the scale, of the shape, and what remains.

    `off_axis` is the rate across the axis over that about it: rotation that is not about one axis shortens what is seen
    of it by about half its square.
    """
    solved = found.normal.border_solved
    inverse = global_covariance(problem, found)
    own = drift_variance(found.normal)
    knots = problem.knots.time_s
    reference_s = 0.5 * (where[0] + where[1])
    at = int(np.argmin(np.abs(knots - reference_s)))
    unit = np.zeros(STATES * len(knots))
    unit[STATES * at] = 1.0
    with_reference = found.normal.band_solve(unit)[::STATES]
    shared = own + own[at] - 2.0 * with_reference
    border = -(solved[::STATES] - solved[STATES * at])
    border[:, SCALE] += np.interp(knots, samples.time_s, turned) - np.interp(
        knots[at], samples.time_s, turned
    )
    steady = np.sum((border @ inverse) * border, axis=1)
    u_scale = float(np.sqrt(inverse[SCALE, SCALE]))
    u_reference = float(np.sqrt(own[at]))
    # Within a knot's interval the rate's noise wanders; at the reference rest it does too.
    bridge = problem.noise.gyro_density_rad_s_rt_hz**2 * KNOT_S / 6.0
    moved = systematic_errors(problem, found)
    # What comes back with the angle moves the drift and the scale together.
    theta_knots = np.interp(knots, samples.time_s, turned)
    bent = moved.drift - moved.drift[at] + np.outer(theta_knots - theta_knots[at], moved.scale)
    steady += np.sum(bent**2, axis=1)
    across = 0.5 * off_axis**2
    steady += (across * (theta_knots - theta_knots[at])) ** 2
    u_scale = float(np.sqrt(u_scale**2 + np.sum(moved.scale**2) + across**2))
    if problem.places is not None and problem.places.trend_u_rad:
        lasts_s = knots[-1] - knots[0]
        steady += (problem.places.trend_u_rad * (knots - knots[at]) / lasts_s) ** 2
    at_knots = np.sqrt(np.maximum(shared, 0.0) + steady + bridge + 0.25 * own[at])
    # Between knots the scale's part follows the arm.
    total = np.interp(samples.time_s, knots, at_knots)
    theta = np.abs(turned - np.interp(reference_s, samples.time_s, turned))
    knot_theta = np.interp(samples.time_s, knots, np.interp(knots, samples.time_s, theta))
    total = np.sqrt(
        np.maximum(total**2 + (u_scale * theta) ** 2 - (u_scale * knot_theta) ** 2, 0.25 * total**2)
    )
    random = np.sqrt(np.interp(samples.time_s, knots, np.maximum(own, 0.0) + bridge))
    shape = np.sqrt(np.maximum(total**2 - (u_scale * theta) ** 2 - u_reference**2 - random**2, 0.0))
    return total, u_reference, u_scale, shape, random


def global_covariance(problem: Problem, found: Solution) -> Floats:
    """Covariance of the global unknowns, (22, 22), if the accelerometer is as poor as the noise model allows.

    The estimate leans on better figures than that, so the prior's own error is larger than it weighs: to first
    order its excess variance goes through the solution (GUM 5.1.2).
    """
    covariance = found.normal.inverse.copy()
    noise = problem.noise
    rows = problem.prior.at(found.unknown)[0]
    for part, used, limit in (
        (SQUARENESS_ROWS, noise.accel_scale_u, noise.accel_scale_limit_u),
        (POINT_ROWS, noise.accel_point_u_m, noise.accel_point_limit_u_m),
    ):
        moves = found.normal.inverse @ rows[part].T
        covariance += max((limit / used) ** 2 - 1.0, 0.0) * moves @ moves.T
    return np.asarray(covariance)
