"""From aligned sessions to the final fit: bases, lags of all sessions, robust weights.

Least travel, and what sessions of one rig share of their lags: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from feltload.core import Flags
from feltload.signal.alignment.lag import Lag, LagMethod, LagReading
from feltload.signal.alignment.latency import UNKNOWN_MEAN_S, combine, first_lag, refine_lags
from feltload.signal.alignment.slow_drift import (
    LEAST_U_RAD,
    MOST_ROUNDS,
    SETTLED_RAD,
    drift_of,
    wandering_u_rad,
    without_drift,
)
from feltload.signal.alignment.solved import Solved, solved_from
from feltload.signal.alignment.zero_drift import without_zero_drift, zero_drifts
from feltload.signal.errors import ProfileError
from feltload.signal.movement.grid import Aligned
from feltload.signal.movement.movements import find_runs
from feltload.signal.movement.travel import HandleTravel
from feltload.signal.regression.fit import Fit, fit_at
from feltload.signal.regression.layout import Layout, layout_for
from feltload.signal.regression.partner_rejection import find_agreeing, half_repetitions_differ
from feltload.signal.regression.rows import Bases, Rows, cutoff_hz, make_rows
from feltload.signal.regression.splines import basis_over

ZERO_ROUNDS = 2
"""The drift of the zero hardly moves the profile's own shape: two rounds settle it."""

LEAST_TRAVEL_RAD = np.radians(8.0)
BORROW_ABOVE_U_S = 0.010
BORROWED_U_S = 0.002
"""Spread allowed between the lags of sessions made with one rig, when one borrows from another."""


@dataclass(frozen=True)
class Spacing:
    """Widths of the spline intervals along the travel, in rad."""

    static_rad: float = float(np.radians(4.0))
    friction_rad: float = float(np.radians(3.0))
    inertia_rad: float = float(np.radians(12.0))


def make_bases(sessions: Sequence[Aligned], spacing: Spacing) -> Bases:
    """Splines over the travel that the sessions cover.

    Raises
    ------
    ProfileError
        When the arm never moved through a few degrees.
    """
    lows, highs = [], []
    for aligned in sessions:
        for run in find_runs(aligned.time_s, aligned.q_rad, aligned.rate_rad_s, aligned.moving_valid):
            part = aligned.q_rad[run.start : run.stop]
            lows.append(float(np.min(part)))
            highs.append(float(np.max(part)))
    if not lows or max(highs) - min(lows) < LEAST_TRAVEL_RAD:
        travel = np.degrees(max(highs) - min(lows)) if lows else 0.0
        raise ProfileError(
            f"the arm moved through only {travel:.1f} degrees",
            where=", ".join(s.name for s in sessions),
            remedy="check that the inertial sensor sits on the moving part, and record full repetitions",
        )
    low, high = min(lows), max(highs)
    return Bases(
        static=basis_over(low, high, spacing.static_rad, at_least=8, at_most=44),
        friction=basis_over(low, high, spacing.friction_rad, at_least=4, at_most=44),
        inertia=basis_over(low, high, spacing.inertia_rad, at_least=3, at_most=14),
    )


def solve(
    sessions: Sequence[Aligned],
    extra_readings: Sequence[Sequence[LagReading]],
    spacing: Spacing | None = None,
    travel: HandleTravel | None = None,
) -> tuple[Solved, list[Lag]]:
    """Lags and final fit of all sessions.

    Parameters
    ----------
    sessions : sequence of Aligned
    extra_readings : sequence of sequences of LagReading
        Lags from knocks and from the rig's record, per session.
    spacing : Spacing, optional
        Widths of the spline intervals.
    travel : HandleTravel, optional
        Handle travel per radian as the machine's description states it.
    """
    bases = replace(make_bases(sessions, spacing or Spacing()), travel=travel)
    layout = layout_for(bases, [s.load_kg for s in sessions])
    cutoff = cutoff_hz(sessions)
    rows = [make_rows(aligned, bases, cutoff) for aligned in sessions]
    for row in rows:
        if row.run.size < 10:
            raise ProfileError(
                "too little one-way motion to estimate from",
                where=row.aligned.name,
                remedy="record full repetitions",
            )
    starts = [
        _start(row, layout_for(bases, [row.aligned.load_kg]), given)
        for row, given in zip(rows, extra_readings, strict=True)
    ]
    # Only the typical inertia is taken from the first fit: the likelihood of the smoothness can have two maxima, a
    # stiff one for terms that a poor lag hides, so that is looked for again.
    layout = layout.with_felt(fit_at(rows, layout, starts, rounds=3).smoothed.coefficients)
    fit, dynamic = refine_lags(rows, layout, starts)
    if any(reading.u_s > BORROW_ABOVE_U_S for reading in dynamic):
        # A search that began too far away may have ended in another valley.
        again, readings = refine_lags(rows, layout, [UNKNOWN_MEAN_S] * len(rows))
        if again.scale_n < fit.scale_n:
            fit, dynamic = again, readings
    # Before half-repetitions are compared: a position that wandered looks like another force.
    if _without_slow_drift(rows, layout, fit, [reading.value_s for reading in dynamic]):
        fit, dynamic = refine_lags(rows, layout, [reading.value_s for reading in dynamic])
    kept: list[Flags] | None = None
    fit = _without_zero_drift(rows, layout, fit, [reading.value_s for reading in dynamic])
    first = [reading.value_s for reading in dynamic]
    if half_repetitions_differ(rows, layout, fit, first):
        singles = [layout_for(bases, [row.aligned.load_kg]) for row in rows]
        within = [
            _start(row, single, given, within_runs=True)
            for row, single, given in zip(rows, singles, extra_readings, strict=True)
        ]
        kept = find_agreeing(rows, layout, fit, [first, within, [UNKNOWN_MEAN_S] * len(rows)])
        starts = [
            _start(row, single, given, kept=good)
            for row, single, given, good in zip(rows, singles, extra_readings, kept, strict=True)
        ]
        fit, dynamic = refine_lags(rows, layout, starts, kept=kept)
        # Hands that pushed more and more may have looked like it.
        lags_s = [reading.value_s for reading in dynamic]
        fit = _without_zero_drift(rows, layout, fit, lags_s, kept=kept)
    lags = []
    for k, (reading, given) in enumerate(zip(dynamic, extra_readings, strict=True)):
        readings = [reading, *given]
        if min(r.u_s for r in readings) > BORROW_ABOVE_U_S:
            others = [r for j, r in enumerate(dynamic) if j != k and r.u_s < BORROW_ABOVE_U_S]
            if others:
                best = min(others, key=lambda r: r.u_s)
                u = float(np.hypot(best.u_s, BORROWED_U_S))
                readings.append(LagReading(LagMethod.OTHER_SESSION, best.value_s, u, best.session))
        lags.append(combine(readings))
    fit = fit_at(rows, layout, [lag.value_s for lag in lags], previous=fit, kept=kept, rounds=3)
    return solved_from(rows, layout, fit), lags


def _without_slow_drift(rows: list[Rows], layout: Layout, fit: Fit, lags_s: Sequence[float]) -> bool:
    """Take the slow drift that the force shows off the angles that may wander, in place; whether there are any."""
    u_rad = [wandering_u_rad(row.aligned) for row in rows]
    wandering = [number for number, size in enumerate(u_rad) if size >= LEAST_U_RAD]
    cutoff = cutoff_hz([row.aligned for row in rows])
    for _ in range(MOST_ROUNDS if wandering else 0):
        moved = 0.0
        for number in wandering:
            drift = drift_of(rows[number], layout, fit, number, u_rad[number])
            moved = max(moved, float(np.sqrt(np.mean(drift**2))))
            rows[number] = make_rows(without_drift(rows[number].aligned, drift), layout.bases, cutoff)
        fit = fit_at(rows, layout, lags_s, rounds=4)
        if moved < SETTLED_RAD:
            break
    return bool(wandering)


def _without_zero_drift(
    rows: list[Rows],
    layout: Layout,
    fit: Fit,
    lags_s: Sequence[float],
    *,
    kept: Sequence[Flags] | None = None,
) -> Fit:
    """Take the drift of the zero that the force shows off it, in place, and fit again."""
    known = [row.aligned.zero_known for row in rows]
    if any(zero is None for zero in known):
        return fit
    for _ in range(ZERO_ROUNDS):
        drifts = zero_drifts(rows, layout, fit, [zero for zero in known if zero is not None])
        for number, row in enumerate(rows):
            rows[number] = without_zero_drift(row, None if drifts is None else drifts[number])
        fit = fit_at(rows, layout, lags_s, previous=fit, kept=kept, rounds=2)
    return fit


def _start(
    rows: Rows,
    layout: Layout,
    given: Sequence[LagReading],
    *,
    kept: Flags | None = None,
    within_runs: bool = False,
) -> float:
    """Lag to start from: a good reading if there is one, else the best on a coarse grid."""
    good = [r for r in given if r.u_s < 0.005]
    if good:
        return min(good, key=lambda r: r.u_s).value_s
    return first_lag(rows, layout, kept=kept, within_runs=within_runs)
