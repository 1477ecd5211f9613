"""Lag of the force behind the lever angle: from the dynamics, from knocks, from the rig's record.

Ranges and floors of the lag: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy

from feltload.core import Flags, Floats
from feltload.signal.alignment.lag import Lag, LagMethod, LagReading
from feltload.signal.movement.grid import Aligned
from feltload.signal.movement.movements import without_trends
from feltload.signal.regression.fit import Fit, fit_at
from feltload.signal.regression.layout import Layout
from feltload.signal.regression.rows import Rows
from feltload.signal.regression.smoothing import inverse_of, light_strengths, penalised

SEARCH_S = (-0.10, 0.30)
"""What filters and links can make of it."""

FAR_S = 1.5
"""Clocks that were joined badly can be this far apart."""

FAR_GAIN = 0.6
"""A lag outside `SEARCH_S` is believed when it leaves less than this share of the residual."""

SEARCH_ROWS = 6000
"""Rows that the search on a coarse grid looks at, about: four minutes of motion."""

UNKNOWN_U_S = 0.040
"""Standard uncertainty when nothing tells the lag: filters and links delay by up to 0.1 s."""

UNKNOWN_MEAN_S = 0.020
FLOOR_U_S = 0.0002
"""Below this the different filters of the two streams make the word lag itself unclear."""

FILTER_SHARE = 0.02
"""The same as a share of the force's sample interval: a slow cell's low-pass (a 7 Hz corner at 40 Hz) delays
2 Hz by 0.5 ms more than a still arm."""


def first_lag(rows: Rows, layout: Layout, *, kept: Flags | None = None, within_runs: bool = False) -> float:
    """Lag on a coarse grid that leaves the least residual in one session, in s.

    Parameters
    ----------
    rows : Rows
    layout : Layout
    kept : ndarray of bool, shape (r,), optional
        Rows to use; all when not given.
    within_runs : bool
        Take a parabola along the travel out of every run first, so that hands which push in some of them
        do not decide.
    """
    # A coarse search needs no more than some repetitions of a long session (runs alternate in direction).
    some = (rows.run // 2) % max(1, rows.run.size // SEARCH_ROWS) == 0
    used = np.flatnonzero(_sees_force(rows, some if kept is None else some & kept))
    run, q_rad, low_pass = rows.run[used], rows.q_rad[used], rows.low_pass[used]
    design = layout.spread(rows.design, rows.aligned.load_kg)[used]
    if within_runs:
        design = without_trends(run, q_rad, design)
    normal = design.T @ design
    penalties = layout.penalties
    strengths = light_strengths(normal, penalties)
    inverse = inverse_of(normal + penalised(layout.size, penalties, strengths))

    # Trial lags are whole steps of the grid, so that one series holds the force at all of them.
    rate, source = rows.aligned.rate_hz, rows.source
    margin = round((FAR_S + 0.1) * rate)
    first = int(source[0]) - margin
    number = np.arange(first, int(source[-1]) + margin + 1)
    series = rows.aligned.force.at(rows.aligned.time_s[0] + number / rate)

    def best(trials: Floats) -> tuple[float, float]:
        steps = np.round(trials * rate).astype(np.int64)
        forces = np.stack([low_pass @ series[source - first + step] for step in steps], axis=1)
        if within_runs:
            forces = without_trends(run, q_rad, forces)
        residuals = forces - design @ (inverse @ (design.T @ forces))
        # A loss cut off at a few typical residuals keeps knocks and hands-off time from deciding.
        loss = np.sum(np.minimum(np.abs(residuals), 4.0 * np.median(np.abs(residuals))), axis=0)
        least = int(np.argmin(loss))
        return float(trials[least]), float(loss[least])

    near, near_loss = best(np.arange(SEARCH_S[0], SEARCH_S[1] + 1e-9, 0.01))
    far, _ = best(np.arange(-FAR_S, FAR_S + 1e-9, 0.08))
    if not SEARCH_S[0] <= far <= SEARCH_S[1]:
        far, far_loss = best(far + np.arange(-0.08, 0.081, 0.01))
        if far_loss < FAR_GAIN * near_loss:
            return far
    return near


def _sees_force(rows: Rows, some: Flags) -> Flags:
    """Those of some rows that touch no hole of the force at any near lag; all of them where that leaves few."""
    whole = some.copy()
    for lag_s in np.arange(SEARCH_S[0], SEARCH_S[1] + 1e-9, 0.1):
        whole &= rows.force_valid(float(lag_s))
    return whole if np.count_nonzero(whole) > 0.5 * np.count_nonzero(some) else some


def gradient_n_s(rows: Rows, layout: Layout, fit: Fit) -> Floats:
    """Low-passed time derivative of the fitted force at the rows, shape (r,)."""
    own = layout.gather(fit.smoothed.coefficients, rows.aligned.load_kg)
    return np.asarray(rows.slope @ (rows.columns @ own))


def refine_lags(
    sessions: Sequence[Rows],
    layout: Layout,
    lags_s: Sequence[float],
    *,
    kept: Sequence[Flags] | None = None,
    rounds: int = 6,
) -> tuple[Fit, list[LagReading]]:
    """Lags that leave the least residual (Gauss-Newton with the profile projected out).

    Returns
    -------
    Fit
        At the refined lags.
    list of LagReading
        One per session, with standard uncertainties clustered over runs. A search that ends at its limit has found
        nothing: its uncertainty is the whole range searched.

    References
    ----------
    Golub & Pereyra (2003), Separable nonlinear least squares, doi:10.1088/0266-5611/19/2/201.
    """
    lags = np.asarray(lags_s, float)
    outside = (lags < SEARCH_S[0]) | (lags > SEARCH_S[1])
    low = np.where(outside, lags - 0.1, SEARCH_S[0])
    high = np.where(outside, lags + 0.1, SEARCH_S[1])
    fit = fit_at(sessions, layout, lags.tolist(), kept=kept)
    steps, spread = _step(sessions, layout, fit)
    for _ in range(rounds):
        lags = np.clip(lags + np.clip(steps, -0.03, 0.03), low - 0.05, high + 0.05)
        fit = fit_at(sessions, layout, lags.tolist(), previous=fit, kept=kept, rounds=1)
        steps, spread = _step(sessions, layout, fit)
        if np.all(np.abs(steps) < np.maximum(0.1 * spread, 2e-6)):
            break
    readings = []
    for k, rows in enumerate(sessions):
        value = float(lags[k] + steps[k])
        u = float(np.hypot(spread[k], np.hypot(FLOOR_U_S, FILTER_SHARE * rows.aligned.force_step_s)))
        if not low[k] < value < high[k]:
            value, u = float(np.clip(value, low[k], high[k])), SEARCH_S[1] - SEARCH_S[0]
        readings.append(LagReading(LagMethod.DYNAMICS, value, u, rows.aligned.name))
    return fit, readings


def _step(sessions: Sequence[Rows], layout: Layout, fit: Fit) -> tuple[Floats, Floats]:
    """Change of each session's lag and its standard uncertainty."""
    count = len(sessions)
    sizes = [residual.size for residual in fit.residuals_n]
    edges = np.concatenate([[0], np.cumsum(sizes)])
    design, weights = np.concatenate(fit.designs), np.concatenate(fit.weights)
    residual = np.concatenate(fit.residuals_n)
    slopes = np.zeros((edges[-1], count))
    for s, rows in enumerate(sessions):
        slopes[edges[s] : edges[s + 1], s] = -gradient_n_s(rows, layout, fit)
    # The weights have moved since the coefficients were solved for, so the normal equations are made
    # afresh: with a lag that the profile can nearly mimic, mixing two sets of weights gives nonsense.
    strength = penalised(layout.size, layout.penalties, fit.smoothed.strengths)
    share = fit.dilution
    inverse = inverse_of(share * (design.T @ (design * weights[:, None])) + strength)
    seen = share * (design.T @ (slopes * weights[:, None]))
    mimic = inverse @ seen
    # Projected slopes: what the profile cannot mimic.
    alone = slopes - design @ mimic
    normal = share * (slopes.T @ (alone * weights[:, None]))
    normal = 0.5 * (normal + normal.T)
    normal[np.diag_indices(count)] += 1e-12 + 1e-9 * np.trace(normal) / count
    pull = share * (design.T @ (residual * weights)) - strength @ fit.smoothed.coefficients
    right = share * (slopes.T @ (residual * weights)) - mimic.T @ pull
    covariance = scipy.linalg.inv(normal)
    step = covariance @ right
    plain = fit.smoothed.variance * np.diag(covariance)
    clustered = np.zeros(count)
    for s, rows in enumerate(sessions):
        part = slice(edges[s], edges[s + 1])
        scores = (alone[part, s] * weights[part]) * (residual[part] - slopes[part] @ step)
        sums = np.bincount(rows.run, weights=scores, minlength=2)
        used = max(int(np.count_nonzero(sums)), 2)
        clustered[s] = (fit.dilution * covariance[s, s]) ** 2 * float(np.sum(sums**2)) * used / (used - 1)
    return step, np.sqrt(np.maximum(plain, clustered))


def knock_lag(
    aligned: Aligned,
    marks_s: Sequence[float],
    force_raw: tuple[Floats, Floats],
    shock_raw: tuple[Floats, Floats],
) -> LagReading | None:
    """Lag from knocks on the handle of the resting arm, seen by both sensors.

    Parameters
    ----------
    aligned : Aligned
        For the session's name and sample intervals.
    marks_s : sequence of float
        About when the knocks were (within a second).
    force_raw, shock_raw : tuple of ndarray
        Times and values of the force (n,), and times and values of the specific force (n, 3).

    Returns
    -------
    LagReading or None
        None when no knock stands out in both streams.
    """
    lags: list[float] = []
    for mark in marks_s:
        pulled, shaken = (_burst(time, value, mark) for time, value in (force_raw, shock_raw))
        if pulled is not None and shaken is not None:
            lags.append(pulled - shaken)
    if not lags:
        return None
    steps = np.hypot(aligned.force_step_s, aligned.motion_step_s)
    # A burst of a few samples is placed to about 0.4 of a sample; the arm rings on after it.
    single = 0.4 * float(steps)
    # Filters of different corner show the same blow with different rise.
    ringing = 0.004
    scatter = float(np.std(lags, ddof=1)) if len(lags) > 1 else 0.0
    u = float(np.hypot(max(single, scatter) / np.sqrt(len(lags)), ringing))
    return LagReading(LagMethod.KNOCK, float(np.median(lags)), u, aligned.name)


def _burst(time_s: Floats, value: Floats, mark_s: float) -> float | None:
    """Onset of the burst near a mark, or None; `value` has shape (n,) or (n, 3)."""
    near = np.abs(time_s - mark_s) < 0.6
    if np.count_nonzero(near) < 12:
        return None
    time, seen = time_s[near], value[near].reshape(int(np.count_nonzero(near)), -1)
    level = np.linalg.norm(seen - np.median(seen, axis=0), axis=1)
    peak = int(np.argmax(level))
    quiet = np.abs(time - time[peak]) > 0.25
    noise = float(np.median(level[quiet])) if np.any(quiet) else 0.0
    if level[peak] < 12.0 * max(noise, 1e-9):
        return None
    # Where the first rise reaches a third of the peak: the ringing that follows may be higher than the blow.
    limit = level[peak] / 3.0
    early = np.flatnonzero((level >= limit) & (time > time[peak] - 0.08))
    first = int(early[0])
    if first == 0:
        return None
    share = (limit - level[first - 1]) / max(level[first] - level[first - 1], 1e-12)
    return float(time[first - 1] + np.clip(share, 0, 1) * (time[first] - time[first - 1]))


def combine(readings: Sequence[LagReading]) -> Lag:
    """Weighted mean of the readings of one session, tested for agreement.

    When they disagree beyond their 99 % limit the uncertainty grows by the root of the reduced chi-square.
    When none is better than 20 ms the lag counts as unknown.
    """
    if not readings:
        return Lag(UNKNOWN_MEAN_S, UNKNOWN_U_S, known=False)
    values = np.array([r.value_s for r in readings])
    weights = 1.0 / np.array([r.u_s for r in readings]) ** 2
    mean = float(np.sum(weights * values) / np.sum(weights))
    u = float(1.0 / np.sqrt(np.sum(weights)))
    plain = Lag(mean, u, tuple(readings))
    if not plain.agree:
        u *= float(np.sqrt(plain.chi2 / plain.degrees))
    known = u < 0.020
    if not known:
        # Blend with what filters and links usually do.
        prior = 1.0 / UNKNOWN_U_S**2
        mean = (mean / u**2 + UNKNOWN_MEAN_S * prior) / (1.0 / u**2 + prior)
        u = float((1.0 / u**2 + prior) ** -0.5)
    return Lag(mean, u, tuple(readings), bool(known))
