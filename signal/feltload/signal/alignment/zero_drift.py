"""The drift of a cell's zero, shown by the machine's own curve: the same position asks for the same force at any time.

A course in time that is nothing at the tare is fitted to the residuals of every session, both ways of the movement
alike, beside all coefficients of the profile. Beforehand it is a steady drift and a random walk of a size that cells
have; its real size is chosen by the evidence (marginal likelihood). It is taken off the force, and what stays uncertain
of it goes into the band.

Sizes and lengths: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy

from feltload.core import Floats, Indices
from feltload.signal.movement.grid import Aligned, Series
from feltload.signal.regression.fit import Fit
from feltload.signal.regression.layout import Layout
from feltload.signal.regression.rows import Rows
from feltload.signal.regression.smoothing import inverse_of, penalised
from feltload.signal.zero.course import ZeroDrift, ZeroKnown

FIRST_KNOT_S, KNOT_GROWTH, LONGEST_KNOT_S = 15.0, 1.5, 600.0
"""Distance of the first knots from the tare, its growth from knot to knot (cells warm up more and more slowly), and
the largest."""

SIZES = np.geomspace(0.1, 12.0, 25)
"""Factors tried on the size that is expected."""

SIZE_SPREAD = 1.0
"""Standard deviation of the logarithm of that factor."""

DISAGREES = 3.0
"""Standard uncertainties by which a zero afterwards may differ from what the repetitions make of it."""

MOST_CHI2 = 12.0
"""A course less probable than this per knot, at the largest size, is no cell's: hands or another machine's."""


def zero_drifts(
    sessions: Sequence[Rows], layout: Layout, fit: Fit, known: Sequence[ZeroKnown]
) -> tuple[ZeroDrift, ...] | None:
    """Course of every session's zero, one step of the fit's residuals.

    Parameters
    ----------
    sessions : sequence of Rows
        With or without the drift of an earlier step taken off their force.
    layout : Layout
    fit : Fit
        Of these rows.
    known : sequence of ZeroKnown

    Returns
    -------
    tuple of ZeroDrift or None
        None where what the residuals show is no drift of a cell.
    """
    knots = [_knots(rows.aligned, zero.since_s) for rows, zero in zip(sessions, known, strict=True)]
    ends = np.cumsum([knot.size - 1 for knot in knots])
    parts = [slice(int(stop - knot.size + 1), int(stop)) for knot, stop in zip(knots, ends, strict=True)]
    shown, right = _equations(sessions, layout, fit, knots, parts)
    prior = np.zeros_like(shown)
    for knot, part, zero in zip(knots, parts, known, strict=True):
        prior[part, part] = _prior(knot, zero.rate_n_per_min)
    free = _posterior(shown, right, prior)
    afterwards = np.zeros_like(shown)
    checks = []
    for knot, part, zero in zip(knots, parts, known, strict=True):
        check: dict[str, float] = {}
        if zero.after_s is not None:
            last = np.zeros(shown.shape[0])
            last[part] = _hats(np.array([zero.after_s]), knot)[0]
            there, u = float(last @ free.value_n), float(np.sqrt(last @ free.covariance_n2 @ last))
            check = {"rests_n": zero.after_n, "free_n": zero.after_n + there, "free_u_n": u}
            # A rest that the repetitions contradict had something held or hung on.
            if abs(there) <= DISAGREES * np.hypot(u, zero.after_u_n):
                afterwards += np.outer(last, last) / zero.after_u_n**2
        checks.append(check)
    found = _posterior(shown + afterwards, right, prior) if np.any(afterwards) else free
    if found.chi2 > MOST_CHI2 * right.size:
        return None
    drifts = []
    for knot, part, zero, check in zip(knots, parts, known, checks, strict=True):
        covariance = np.zeros((knot.size, knot.size))
        covariance[1:, 1:] = found.covariance_n2[part, part]
        value = np.concatenate([[0.0], found.value_n[part]])
        walk = found.size * zero.rate_n_per_min
        drifts.append(ZeroDrift(knot, value, covariance, walk, **check))
    return tuple(drifts)


@dataclass(frozen=True)
class _Posterior:
    """Values at all knots, (k,), their covariance, the factor on the expected size, and how improbable they are."""

    value_n: Floats
    covariance_n2: Floats
    size: float
    chi2: float


def _posterior(normal: Floats, right: Floats, prior: Floats) -> _Posterior:
    size = _likeliest(normal, right, prior)
    inverse = scipy.linalg.inv(size**2 * prior)
    covariance = inverse_of(inverse + normal)
    value = covariance @ right
    improbable = float(value @ inverse @ value) if size >= SIZES[-1] else 0.0
    return _Posterior(value, covariance, size, improbable)


def without_zero_drift(rows: Rows, drift: ZeroDrift | None) -> Rows:
    """The session with a drift taken off its force, in place of one that was taken off before."""
    series, before = rows.aligned.force, rows.aligned.zero_drift
    value = series.value if before is None else series.value + before.at(series.time_s)
    if drift is not None:
        value = value - drift.at(series.time_s)
    force = Series(series.time_s, value, series.gap_s)
    return replace(rows, aligned=replace(rows.aligned, force=force, zero_drift=drift))


def drift_directions(rows: Rows, drift: ZeroDrift) -> Floats:
    """Changes of the rows' force that each make one standard deviation of the drift, shape (r, k)."""
    root = scipy.linalg.cholesky(
        drift.covariance_n2[1:, 1:] + 1e-12 * np.eye(drift.knot_s.size - 1), lower=True
    )
    return np.asarray(_hats(rows.aligned.time_s[rows.centre], drift.knot_s) @ root)


def _knots(aligned: Aligned, since_s: float) -> Floats:
    """Knots from the tare to the end, shape (k,)."""
    last = float(aligned.time_s[-1])
    knots, step = [min(since_s, float(aligned.time_s[0]))], FIRST_KNOT_S
    while knots[-1] + 1.5 * step < last:
        knots.append(knots[-1] + step)
        step = min(KNOT_GROWTH * step, LONGEST_KNOT_S)
    return np.array([*knots, max(last, knots[-1] + 1.0)])


def _hats(time_s: Floats, knot_s: Floats) -> Floats:
    """Values at the knots but the first to those at some times, shape (n, k - 1)."""
    return np.stack([np.interp(time_s, knot_s, unit) for unit in np.eye(knot_s.size)[1:]], axis=1)


def _prior(knot_s: Floats, rate_n_per_min: float) -> Floats:
    """Covariance of the values at the knots but the first: a steady drift, and a walk as large after one minute."""
    since_min = (knot_s[1:] - knot_s[0]) / 60.0
    steady, walk = np.outer(since_min, since_min), np.minimum.outer(since_min, since_min)
    return np.asarray(rate_n_per_min**2 * (steady + walk))


def _equations(
    sessions: Sequence[Rows], layout: Layout, fit: Fit, knots: Sequence[Floats], parts: Sequence[slice]
) -> tuple[Floats, Floats]:
    """Normal matrix and right side of the courses with the profile's coefficients solved for, (k, k) and (k,)."""
    size = parts[-1].stop
    design, weight = np.concatenate(fit.designs), np.concatenate(fit.weights)
    course = np.zeros((design.shape[0], size))
    residual = np.concatenate(fit.residuals_n)
    first = 0
    for rows, knot, part in zip(sessions, knots, parts, strict=True):
        own = slice(first, first + rows.run.size)
        course[own, part] = _hats(rows.aligned.time_s[rows.centre], knot)
        taken = rows.aligned.zero_drift
        if taken is not None:
            residual[own] += taken.at(rows.aligned.time_s[rows.centre])
        first += rows.run.size
    strength = penalised(layout.size, layout.penalties, fit.smoothed.strengths)
    share = fit.dilution / fit.smoothed.variance
    weighted = design * weight[:, None]
    inverse = inverse_of(share * (design.T @ weighted) + strength / fit.smoothed.variance)
    mimic = inverse @ (share * (weighted.T @ course))
    alone = course - design @ mimic
    normal = share * (course.T @ (alone * weight[:, None]))
    pull = share * (weighted.T @ residual) - (strength @ fit.smoothed.coefficients) / fit.smoothed.variance
    right = share * (course.T @ (weight * residual)) - mimic.T @ pull
    normal = 0.5 * (normal + normal.T)
    left = residual - design @ (inverse @ pull) - alone @ (scipy.linalg.pinvh(normal, rtol=1e-9) @ right)
    runs = np.concatenate([k * 1_000_000 + rows.run for k, rows in enumerate(sessions)])
    excess = _clustering(alone * (weight * share)[:, None], left, runs, float(np.trace(normal)))
    return normal / excess, right / excess


def _clustering(scores: Floats, left_n: Floats, runs: Indices, alone: float) -> float:
    """How much more whole half-repetitions scatter than their rows alone would have it, at least 1."""
    _, number = np.unique(runs, return_inverse=True)
    sums = np.stack([np.bincount(number, weights=column * left_n) for column in scores.T])
    return max(1.0, float(np.sum(sums**2)) / max(alone, 1e-300))


def _likeliest(normal: Floats, right: Floats, prior: Floats) -> float:
    """Factor on the expected size with the greatest evidence."""
    root = scipy.linalg.cholesky(prior + 1e-12 * np.trace(prior) * np.eye(prior.shape[0]), lower=True)
    values, vectors = scipy.linalg.eigh(root.T @ normal @ root)
    values = np.maximum(values, 0.0)
    seen = (vectors.T @ (root.T @ right)) ** 2
    square = SIZES[:, None] ** 2
    evidence = 0.5 * np.sum(square * seen / (1.0 + square * values) - np.log1p(square * values), axis=1)
    return float(SIZES[np.argmax(evidence - 0.5 * (np.log(SIZES) / SIZE_SPREAD) ** 2)])
