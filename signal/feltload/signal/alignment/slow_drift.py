"""A slow drift of the angle, told by the machine's own curve: the same position asks for the same force.

Where nothing else holds the angle over time (a hinge near vertical without rests), it wanders by degrees, and the
residuals of the force follow it by the slope of the profile. A drift that starts and ends the knots straight between
them is fitted to them, within what the angle's own uncertainty allows, and taken off the motion.

Lengths and thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feltload.core import Floats
from feltload.signal.movement.grid import Aligned
from feltload.signal.regression.fit import Fit
from feltload.signal.regression.layout import Layout
from feltload.signal.regression.rows import Rows

KNOT_S = 6.0
#: A drift less uncertain than this is left alone.
LEAST_U_RAD = np.radians(0.4)
#: A correction smaller than this, rms, is the last one; and how many there are at most.
SETTLED_RAD, MOST_ROUNDS = np.radians(0.02), 6


def wandering_u_rad(aligned: Aligned) -> float:
    """How far the angle may wander over time: what its uncertainty holds beside scale, shape and reference."""
    common = aligned.u_shape_rad**2 + (aligned.u_scale * aligned.q_rad) ** 2 + aligned.u_reference_rad**2
    return float(np.sqrt(np.median(np.maximum(aligned.u_q_rad**2 - common, 0.0))))


def drift_of(rows: Rows, layout: Layout, fit: Fit, number: int, u_rad: float) -> Floats:
    """Drift of one session's angle on its grid, (n,), as one step of the fit's residuals gives it.

    Parameters
    ----------
    rows : Rows
    layout : Layout
    fit : Fit
    number : int
        Of the session.
    u_rad : float
        Its standard uncertainty over the whole record; between two knots it is that of a random walk.
    """
    aligned = rows.aligned
    start_s, stop_s = float(aligned.time_s[0]), float(aligned.time_s[-1])
    knots = np.linspace(start_s, stop_s, max(2, round((stop_s - start_s) / KNOT_S) + 1))
    own = layout.gather(fit.smoothed.coefficients, aligned.load_kg)[: layout.bases.static.size]
    slope = layout.bases.static.dense(rows.q_rad, derivative=1) @ own
    at = np.stack(
        [np.interp(aligned.time_s[rows.centre], knots, unit) for unit in np.eye(len(knots))], axis=1
    )
    design = slope[:, None] * at
    weight = fit.dilution * fit.weights[number] / fit.scale_n**2
    walk = u_rad * np.sqrt(1.0 / max(len(knots) - 1, 1))
    steps = np.diff(np.eye(len(knots)), axis=0) / walk
    # A common shift of all is a shift of the curve: the profile's place stays with the angle's reference.
    level = np.full((1, len(knots)), 1.0 / len(knots)) / (1e-3 * u_rad)
    left = (design * weight[:, None]).T @ design + steps.T @ steps + level.T @ level
    drift = np.linalg.solve(left, design.T @ (weight * fit.residuals_n[number]))
    return np.interp(aligned.time_s, knots, drift)


def without_drift(aligned: Aligned, drift_rad: Floats) -> Aligned:
    """The session with a drift taken off its angle."""
    taken = aligned.drift_taken_rad + float(np.max(np.abs(drift_rad)))
    return replace(aligned, q_rad=aligned.q_rad + drift_rad, drift_taken_rad=taken)
