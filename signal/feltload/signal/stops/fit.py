"""The readings of one load: their scatter, their curve, and what is odd about them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Fact, Figure, Floats, Indices, Severity
from feltload.signal.profile.uncertainty.budget_item import BudgetSource
from feltload.signal.stops.curve import Noise, StopCurve, fit_curve
from feltload.signal.stops.facts import StopsFact
from feltload.signal.stops.readings import StopReadings
from feltload.signal.stops.scale import FRICTION_SHARE, SCATTER_FREEDOM, SCATTER_SHARE, HandScale

WIDE_GAP_SHARE = 0.3
"""Part of the travel between two stops above which the shape between them is mostly supposed."""
OFF_FACTOR = 4.0
"""Standard deviations by which a reading lies off the others before it is reported."""
OFF_SHARE = 0.06
"""Part of the peak that it must be off as well."""
BOTH_WAYS = 2
"""Stops that must be read both ways before friction is separated."""


@dataclass(frozen=True)
class FittedLoad:
    """Fit of one load.

    Attributes
    ----------
    load_kg : float
    readings : StopReadings
    curve : StopCurve
    separated : bool
        Whether friction was solved for.
    parts_n2 : mapping of ndarray, shape (g,)
        Variance along the travel by what makes it.
    freedom : float
        Degrees of freedom of the scatter.
    facts : tuple of Fact
    """

    load_kg: float
    readings: StopReadings
    curve: StopCurve
    separated: bool
    parts_n2: dict[BudgetSource, Floats]
    freedom: float
    facts: tuple[Fact, ...]


def fit_load(readings: StopReadings, at_rad: Floats, scale: HandScale, *, several: bool) -> FittedLoad:
    """Fit the readings of one load; `several` says that there are others, so that facts name it."""
    stops, stop = np.unique(readings.q_rad, return_inverse=True)
    both = [{1, -1} <= set(readings.way[stop == k].tolist()) for k in range(stops.size)]
    separated = sum(both) >= BOTH_WAYS
    step = readings.step_n if scale.resolution_n is None else scale.resolution_n
    size = float(np.max(np.abs(readings.force_n)))
    scatter, freedom = _scatter(readings, stop, step)
    noise = Noise(scatter**2, np.full(scatter.size, step**2 / 12.0), np.zeros(scatter.size))
    # The slope that turns an error of position into one of force comes from a first fit.
    first = _curve(readings, stop, noise, at_rad, friction=separated)
    slope = np.interp(readings.q_rad, at_rad, np.gradient(first.static_n, at_rad))
    noise = Noise(noise.scatter_n2, noise.resolution_n2, (slope * readings.u_q_rad) ** 2)
    curve = _curve(readings, stop, noise, at_rad, friction=separated)
    parts = {
        BudgetSource.REPEATABILITY: _through(curve.smoother, np.diag(noise.scatter_n2)),
        BudgetSource.SCALE_RESOLUTION: _through(curve.smoother, np.diag(noise.resolution_n2)),
        BudgetSource.POSITION_READING: _through(
            curve.smoother, Noise(0 * scatter, 0 * scatter, noise.position_n2).covariance(stop)
        ),
    }
    known = sum(parts.values())
    parts[BudgetSource.BETWEEN_STOPS] = np.maximum(np.diag(curve.covariance_n2) - known, 0.0)
    load = float(readings.load_kg[0])
    named: dict[str, Figure] = {"load_kg": load} if several else {}
    facts = _facts(readings, stops, curve, np.sqrt(np.diag(noise.covariance(stop))), size, separated, named)
    return FittedLoad(load, readings, curve, separated, parts, freedom, facts)


def _curve(
    readings: StopReadings, stop: Indices, noise: Noise, at_rad: Floats, *, friction: bool
) -> StopCurve:
    return fit_curve(
        readings.q_rad, readings.way, readings.force_n, noise.covariance(stop), at_rad, friction=friction
    )


def _scatter(readings: StopReadings, stop: Indices, step_n: float) -> tuple[Floats, float]:
    """Standard deviation of each reading, from repeated ones and what hands usually do, and its degrees of freedom."""
    usual = np.hypot(SCATTER_SHARE * np.abs(readings.force_n), 0.5 * step_n)
    squares, freedom = 0.0, 0.0
    for group in np.unique(np.stack([stop, readings.way], axis=1), axis=0):
        own = (stop == group[0]) & (readings.way == group[1])
        if np.count_nonzero(own) > 1:
            away = readings.force_n[own] - np.mean(readings.force_n[own])
            squares += float(np.sum((away / usual[own]) ** 2))
            freedom += np.count_nonzero(own) - 1
    factor = np.sqrt((SCATTER_FREEDOM + squares) / (SCATTER_FREEDOM + freedom))
    return np.asarray(usual * factor), SCATTER_FREEDOM + freedom


def _through(smoother: Floats, noise: Floats) -> Floats:
    return np.asarray(np.einsum("ij,jk,ik->i", smoother, noise, smoother))


def _facts(
    readings: StopReadings,
    stops: Floats,
    curve: StopCurve,
    sd_n: Floats,
    size_n: float,
    separated: bool,
    named: dict[str, Figure],
) -> tuple[Fact, ...]:
    facts = []
    gaps = np.diff(stops) / np.ptp(stops)
    if gaps.max() > WIDE_GAP_SHARE:
        k = int(np.argmax(gaps))
        low, high = (stops[k : k + 2] - stops[0]) / np.ptp(stops)
        figures: dict[str, Figure] = {"low_share": float(low), "high_share": float(high)}
        facts.append(Fact(StopsFact.WIDE_GAP, figures={**named, **figures}))
    if not separated:
        figures = {"share": FRICTION_SHARE}
        facts.append(Fact(StopsFact.FRICTION_NOT_SEPARATED, figures={**named, **figures}))
    elif float(np.median(curve.friction_n)) < -0.02 * size_n:
        figures = {"apart_n": -2.0 * float(np.median(curve.friction_n))}
        facts.append(Fact(StopsFact.WAYS_SWAPPED, Severity.SERIOUS, figures={**named, **figures}))
    off = np.abs(readings.force_n - curve.at_readings_n)
    worst = int(np.argmax(off / sd_n))
    if off[worst] > OFF_FACTOR * sd_n[worst] and off[worst] > OFF_SHARE * size_n:
        apart = float(readings.force_n[worst] - curve.at_readings_n[worst])
        figures = {"row": int(readings.row[worst]), "apart_n": apart}
        facts.append(Fact(StopsFact.READING_OFF, Severity.SERIOUS, figures={**named, **figures}))
    return tuple(facts)
