"""Static force and friction of a profile as curves with everything that is uncertain of them."""

from __future__ import annotations

import numpy as np

from feltload.coaching.statistics.curves import UncertainCurve, source_name
from feltload.signal import BudgetSource, ProfileEstimate


def static_curve(estimate: ProfileEstimate, load_index: int) -> UncertainCurve:
    """Static force of one load, in N, where it is known."""
    n = estimate.angle_rad.size
    block = slice(load_index * n, (load_index + 1) * n)
    values = estimate.static_n[load_index]
    known = np.isfinite(values) & np.isfinite(np.diag(estimate.covariance_n2)[block])
    return UncertainCurve(
        estimate.angle_rad[known],
        values[known],
        estimate.covariance_n2[block, block][np.ix_(known, known)],
        usual_coverage(estimate),
        {
            source_name(item.source, item.session): item.curve_n[load_index][known]
            for item in estimate.budget
            if item.systematic
        },
    )


def friction_curve(estimate: ProfileEstimate, load_index: int) -> UncertainCurve | None:
    """Friction of one load, in N; None where it was not separated from the force, or its band not kept.

    The gain of the cell changes friction by the share by which it changes the static force; the start angle moves it.
    """
    band, values = estimate.friction_band, estimate.friction_n[load_index]
    if band is None or not np.all(np.isfinite(values)) or not np.all(np.isfinite(band.u95_n[load_index])):
        return None
    systematic = {}
    for item in estimate.budget:
        if item.source is BudgetSource.FORCE_GAIN:
            force = estimate.static_n[load_index]
            greatest = int(np.nanargmax(np.abs(force)))
            share = float(item.curve_n[load_index][greatest] / force[greatest])
            systematic[source_name(item.source, item.session)] = share * values
        elif item.source is BudgetSource.START_ANGLE:
            slope = np.gradient(values, estimate.angle_rad)
            systematic[source_name(item.source, item.session)] = -estimate.u_start_angle_rad * slope
    return UncertainCurve(estimate.angle_rad, values, band.of_load(load_index), band.coverage, systematic)


def usual_coverage(estimate: ProfileEstimate) -> float:
    """Coverage factor that the estimate's own band was made with (Student's at its degrees of freedom)."""
    u = np.sqrt(np.maximum(np.diag(estimate.covariance_n2), 1e-300))
    return float(np.nanmedian(estimate.static_u95_n.ravel() / u))
