"""The static profile from readings at stops, with its budget."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy

from feltload.core import Fact, Figure, Floats, Severity
from feltload.signal.errors import ProfileError
from feltload.signal.profile.assembly import LEAST_PEAK_N, angle_grid
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.force_model import ForceModel
from feltload.signal.profile.friction.band import FrictionBand
from feltload.signal.profile.health import ProfileHealth
from feltload.signal.profile.method import ProfileMethod
from feltload.signal.profile.quality import require_plausible
from feltload.signal.profile.scale import travel_of
from feltload.signal.profile.uncertainty.bands import half_width_95
from feltload.signal.session import Reference
from feltload.signal.stops.budget import stops_budget
from feltload.signal.stops.facts import StopsFact
from feltload.signal.stops.fit import FittedLoad, fit_load
from feltload.signal.stops.readings import StopReadings
from feltload.signal.stops.scale import HandScale


def estimate_at_stops(
    readings: StopReadings, reference: Reference, scale: HandScale, *, where: str
) -> ProfileEstimate:
    """Static profile from a scale that was read by hand at stops.

    Parameters
    ----------
    readings : StopReadings
        Of one or more loads.
    reference : Reference
        What ties the rotation to the machine.
    scale : HandScale
    where : str
        The table, for messages.

    Raises
    ------
    ProfileError
        The loads share no travel, hardly any force was read, or the result contradicts itself.

    Notes
    -----
    A reading is the static force, plus friction while raising or less friction while lowering. Readings without a noted
    way lie anywhere between the two, which widens the band. Budget by JCGM 100:2008.
    """
    loads = np.unique(readings.load_kg)
    each = [readings.of_load(float(load)) for load in loads]
    low, high = max(r.q_rad.min() for r in each), min(r.q_rad.max() for r in each)
    start = reference.start_angle_rad
    # A stop that was read a little below the start stop is at it.
    angle = angle_grid(max(low, 0.0) + start, high + start)
    if angle.size < 3:
        raise ProfileError(
            "the loads were read at places that share no travel"
            if loads.size > 1
            else "all stops lie close together",
            where=where,
            remedy="read the scale from one end of the travel to the other",
        )
    if float(np.max(np.abs(readings.force_n))) < LEAST_PEAK_N:
        raise ProfileError(
            f"hardly any force was read (at most {np.max(np.abs(readings.force_n)):.2f} N)",
            where=where,
            remedy="check the column's unit, and that the scale is in the line of the hands",
        )
    q = angle - start
    fits = [fit_load(own, q, scale, several=loads.size > 1) for own in each]
    static = np.stack([fit.curve.static_n for fit in fits])
    friction = np.stack([fit.curve.friction_n if fit.separated else np.full(q.size, np.nan) for fit in fits])
    budget, statistical = stops_budget(fits, static, q, reference, scale)
    covariance = np.zeros((static.size, static.size))
    for k, fit in enumerate(fits):
        own = slice(k * q.size, (k + 1) * q.size)
        covariance[own, own] = fit.curve.covariance_n2
    for item in budget:
        if item.systematic:
            covariance += np.outer(item.curve_n.ravel(), item.curve_n.ravel())
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0)).reshape(static.shape)
    residual = np.concatenate([fit.readings.force_n - fit.curve.at_readings_n for fit in fits])
    u_angle = float(np.sqrt(np.mean(readings.u_q_rad**2)))
    travel = travel_of(reference, angle, u_angle_rad=u_angle)
    estimate = ProfileEstimate(
        machine_name=reference.machine_name,
        start_angle_rad=start,
        u_start_angle_rad=reference.u_start_angle_rad,
        angle_rad=angle,
        handle_path_m=travel.path_m,
        scale=travel.scale,
        loads_kg=loads,
        static_n=static,
        static_u95_n=half_width_95(u, statistical, min(fit.freedom for fit in fits)),
        friction_n=friction,
        raising_count=np.zeros(static.shape, dtype=np.int64),
        lowering_count=np.zeros(static.shape, dtype=np.int64),
        covariance_n2=covariance,
        inertia_by_load_n_per_rad_s2=np.full(static.shape, np.nan),
        lags=(),
        repetitions=(),
        budget=tuple(sorted(budget, key=lambda item: -item.mean_square_n2)),
        model=_model(loads, static, friction),
        angle_rms_u_rad=u_angle,
        health=ProfileHealth(
            residual_n=round(float(np.sqrt(np.mean(residual**2))), 4),
            rows_used=readings.row.size,
            rows_rejected_percent=0.0,
            movements=0,
            cutoff_hz=float("nan"),
        ),
        warnings=(_by_hand(readings), *(fact for fit in fits for fact in fit.facts)),
        friction_band=_friction_band(fits),
        method=ProfileMethod.STOPS,
    )
    require_plausible(estimate, where=where)
    return estimate


def _by_hand(readings: StopReadings) -> Fact:
    figures: dict[str, Figure] = {"readings": readings.row.size, "stops": np.unique(readings.q_rad).size}
    return Fact(StopsFact.BY_HAND, Severity.NOTE, figures=figures)


def _friction_band(fits: Sequence[FittedLoad]) -> FrictionBand | None:
    """Band of the friction; None unless every load separates it."""
    if not all(fit.separated for fit in fits):
        return None
    covariance = scipy.linalg.block_diag(*(fit.curve.friction_covariance_n2 for fit in fits))
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0)).reshape(len(fits), -1)
    return FrictionBand(covariance, half_width_95(u, u, min(fit.freedom for fit in fits)))


def _model(loads_kg: Floats, static: Floats, friction: Floats) -> ForceModel:
    """Offset and slope with the load; a machine at rest has no terms of motion."""
    nothing = np.zeros(static.shape[1])
    differ = loads_kg.size > 1

    def line(values: Floats) -> tuple[Floats, Floats]:
        if not differ:
            return values[0], nothing
        slope, offset = np.polyfit(loads_kg, values, 1)
        return np.asarray(offset), np.asarray(slope)

    still, rubbing = line(static), line(np.nan_to_num(friction))
    return ForceModel(
        still[0],
        still[1],
        rubbing[0],
        rubbing[1],
        nothing,
        nothing,
        nothing,
        nothing,
        0.0,
        loads_differ=differ,
    )
