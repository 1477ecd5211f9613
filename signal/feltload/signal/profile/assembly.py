"""The profile put together from the final fit: angle grid, coverage, terms, bands, budget."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.core import Fact, Floats, Indices, unique_facts
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.solved import Solved
from feltload.signal.errors import ProfileError
from feltload.signal.profile.disagreement import disagreement_facts, require_one_clock, require_one_machine
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.facts import ProfileFact
from feltload.signal.profile.force_model import make_model
from feltload.signal.profile.friction.band import FrictionBand
from feltload.signal.profile.health import ProfileHealth
from feltload.signal.profile.observed.felt_inertia import felt_inertia
from feltload.signal.profile.quality import (
    coverage_facts,
    fit_facts,
    lag_facts,
    load_facts,
    require_plausible,
)
from feltload.signal.profile.repetitions import find_repetitions
from feltload.signal.profile.scale import placed, travel_of
from feltload.signal.profile.uncertainty.bands import half_width_95, statistical_covariance, term_operator
from feltload.signal.profile.uncertainty.budget import FittedTerm, input_errors, make_budget, smoothed_away
from feltload.signal.profile.uncertainty.budget_item import BudgetItem
from feltload.signal.regression.rows import cutoff_hz
from feltload.signal.session import Reference, Session

STEPS_DEG = (0.25, 0.5, 1.0, 2.0)
FEWEST_ANGLES = 40
USED_SHARE = 0.2
LEAST_PEAK_N = 0.5
UNRELATED_SHARE = 0.06
"""Scatter, as a part of the peak, above which a force that gives no lag away is not that of the motion."""
UNSETTLED = 5.0
"""A static force this many times the largest force felt is no result."""


def angle_grid(low_rad: float, high_rad: float) -> Floats:
    """Round angles (multiples of a quarter, half, one or two degrees) inside the range, in rad."""
    span = np.degrees(high_rad - low_rad)
    step = next((s for s in reversed(STEPS_DEG) if span / s >= FEWEST_ANGLES), STEPS_DEG[0])
    first = np.ceil(np.degrees(low_rad) / step - 1e-9)
    last = np.floor(np.degrees(high_rad) / step + 1e-9)
    return np.asarray(np.radians(step * np.arange(first, last + 1)))


def count_half_repetitions(solved: Solved, q_rad: Floats) -> tuple[Indices, Indices]:
    """How many half-repetitions went through each position, raising and lowering, per load; shape (m, n) each."""
    loads = solved.layout.loads_kg
    counts = np.zeros((2, loads.size, q_rad.size), dtype=np.int64)
    for rows, weight, kept in zip(solved.sessions, solved.fit.weights, solved.fit.kept, strict=True):
        load = int(np.argmin(np.abs(loads - rows.aligned.load_kg)))
        for number in np.unique(rows.run):
            own = rows.run == number
            if not np.any(kept[own]) or np.mean(weight[own & kept]) < USED_SHARE:
                continue
            used = rows.q_rad[own & (weight > 0.05)]
            if used.size < 2:
                continue
            inside = (q_rad >= np.min(used)) & (q_rad <= np.max(used))
            order = np.argsort(rows.q_rad[own])
            inside &= np.interp(q_rad, rows.q_rad[own][order], kept[own][order].astype(float)) > 0.5
            counts[0 if rows.runs[number].direction > 0 else 1, load] += inside
    return counts[0], counts[1]


def assemble(
    solved: Solved,
    sessions: Sequence[Session],
    lags: Sequence[Lag],
    reference: Reference,
    warnings: Sequence[Fact],
) -> ProfileEstimate:
    """Profile, bands, budget, repetitions and health from the final fit."""
    layout = solved.layout
    rows_q = np.concatenate([rows.q_rad for rows in solved.sessions])
    start = reference.start_angle_rad
    angle = angle_grid(float(np.min(rows_q)) + start, float(np.max(rows_q)) + start)
    raising_count, lowering_count = count_half_repetitions(solved, angle - start)
    covered = np.all((raising_count > 0) & (lowering_count > 0), axis=0)
    facts = [*warnings, *coverage_facts(solved, raising_count, lowering_count, covered, angle)]
    if np.count_nonzero(covered) < 3:
        raise ProfileError(
            "no part of the travel was passed both raising and lowering"
            + (" at every load" if layout.loads_differ else ""),
            remedy="record whole repetitions, lowering under control as well",
        )
    angle, raising_count, lowering_count = (
        angle[covered],
        raising_count[:, covered],
        lowering_count[:, covered],
    )
    q = angle - start
    shape = (layout.loads_kg.size, q.size)
    beta = solved.fit.smoothed.coefficients
    held, rubbing = (FittedTerm.of(solved, name, q) for name in ("static", "friction"))
    static, friction = held.value_n, rubbing.value_n
    peak = max(LEAST_PEAK_N, float(np.max(np.abs(static))))
    require_one_machine(solved, start, peak)
    # With its own motion a force gives its lag away; where it does not, less scatter is enough to doubt it.
    follows = peak if all(lag.known for lag in lags) else UNRELATED_SHARE * peak
    if solved.fit.scale_n > follows:
        require_one_clock(solved, lags)
        raise ProfileError(
            f"the force does not follow the arm: it scatters by {solved.fit.scale_n:.1f} N about a fit of "
            f"{peak:.1f} N at most",
            where=", ".join(session.name for session in sessions),
            remedy="check that both streams are of the same session and that the load cell is connected, and sends 40 "
            "samples a second or more",
        )
    if float(np.max(np.abs(static))) < LEAST_PEAK_N:
        raise ProfileError(
            f"hardly any force was felt (at most {np.max(np.abs(static)):.2f} N)",
            where=", ".join(session.name for session in sessions),
            remedy="check that the load cell is in the line of the hands and connected",
        )
    felt = max(float(np.max(np.abs(force))) for force in solved.fit.forces_n)
    if not np.all(np.isfinite(static)) or float(np.max(np.abs(static))) > UNSETTLED * felt:
        raise ProfileError(
            "the fit did not settle: force and motion do not belong together",
            where=", ".join(session.name for session in sessions),
            remedy="check clocks and mounting of both sensors, and record again with varied tempo",
        )
    inertia = (term_operator(layout, "inertia", q) @ beta).reshape(shape)
    spread, freedom = statistical_covariance(
        solved, np.concatenate([held.operator, rubbing.operator]), angles=q.size
    )
    errors = input_errors(solved, sessions, lags, reference, held)
    parts = [error.item(held) for error in errors]
    of_static, of_friction = slice(0, static.size), slice(static.size, None)
    statistical_u = np.sqrt(np.maximum(np.diag(spread)[of_static], 0.0)).reshape(shape)
    covariance, static_u95 = _combined(spread[of_static, of_static], parts, shape, freedom)
    rubbing_parts = [error.item(rubbing) for error in errors] + [smoothed_away(solved, rubbing)]
    friction_band = FrictionBand(*_combined(spread[of_friction, of_friction], rubbing_parts, shape, freedom))
    repetitions = [
        repetition
        for rows, lag in zip(solved.sessions, lags, strict=True)
        for repetition in find_repetitions(
            rows.aligned, rows.runs, lag.value_s, handle_radius_m=reference.handle_radius_m
        )
    ]
    u_q = np.concatenate([rows.aligned.u_q_rad[rows.centre] for rows in solved.sessions])
    weights = np.concatenate(solved.fit.weights)
    health = ProfileHealth(
        residual_n=round(solved.fit.scale_n, 4),
        rows_used=int(np.count_nonzero(weights > 0.05)),
        rows_rejected_percent=round(100.0 * float(np.mean(weights <= 0.05)), 2),
        movements=int(sum(np.unique(rows.run).size for rows in solved.sessions)),
        cutoff_hz=round(cutoff_hz([r.aligned for r in solved.sessions]), 2),
    )
    disagreements = disagreement_facts(solved, start, peak)
    if any(fact.kind is ProfileFact.HALF_REPETITIONS_DIFFER for fact in disagreements):
        require_one_clock(solved, lags)
    facts += disagreements
    facts += lag_facts(solved, lags)
    facts += fit_facts(solved, static, friction)
    facts += load_facts(layout.loads_kg, static, inertia)
    u_angle = float(np.sqrt(np.mean(u_q**2)))
    travel = travel_of(reference, angle, u_angle_rad=u_angle)
    estimate = ProfileEstimate(
        machine_name=reference.machine_name,
        start_angle_rad=start,
        u_start_angle_rad=reference.u_start_angle_rad,
        angle_rad=angle,
        handle_path_m=travel.path_m,
        scale=travel.scale,
        loads_kg=layout.loads_kg,
        static_n=static,
        static_u95_n=static_u95,
        friction_n=friction,
        raising_count=raising_count,
        lowering_count=lowering_count,
        covariance_n2=covariance,
        inertia_by_load_n_per_rad_s2=inertia,
        lags=tuple(lags),
        repetitions=tuple(repetitions),
        budget=make_budget(parts, statistical_u),
        friction_band=friction_band,
        model=make_model(solved, q),
        angle_rms_u_rad=u_angle,
        health=health,
        warnings=placed(unique_facts(facts), travel),
        felt_inertia=felt_inertia(solved, sessions, lags, q),
        attitudes=tuple(rows.aligned.attitude for rows in solved.sessions if rows.aligned.attitude),
    )
    require_plausible(estimate, where=", ".join(session.name for session in sessions))
    return estimate


def _combined(
    statistical_n2: Floats, parts: Sequence[BudgetItem], shape: tuple[int, int], freedom: float
) -> tuple[Floats, Floats]:
    """Covariance with every systematic part, shape (m * n, m * n), and the half-width of the 95 % band, (m, n)."""
    curves = np.stack([part.curve_n.ravel() for part in parts])
    covariance = np.asarray(statistical_n2 + curves.T @ curves)
    u, statistical_u = (
        np.sqrt(np.maximum(np.diag(matrix), 0.0)).reshape(shape) for matrix in (covariance, statistical_n2)
    )
    return covariance, half_width_95(u, statistical_u, freedom)
