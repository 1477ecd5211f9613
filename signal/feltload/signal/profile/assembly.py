"""The profile put together from the final fit: angle grid, coverage, terms, bands, budget."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.core import Flags, Floats, Indices
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.latency import SEARCH_S
from feltload.signal.alignment.solved import Solved
from feltload.signal.errors import ProfileError
from feltload.signal.profile.bands import half_width_95, statistical_covariance, term_operator, term_values
from feltload.signal.profile.budget import make_budget, systematic_parts
from feltload.signal.profile.disagreement import disagreement_notes
from feltload.signal.profile.estimate import ForceModel, ProfileEstimate
from feltload.signal.profile.repetitions import find_repetitions
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
    warnings: Sequence[str],
) -> ProfileEstimate:
    """Profile, bands, budget, repetitions and health from the final fit."""
    notes = list(warnings)
    layout = solved.layout
    rows_q = np.concatenate([rows.q_rad for rows in solved.sessions])
    start = reference.start_angle_rad
    angle = angle_grid(float(np.min(rows_q)) + start, float(np.max(rows_q)) + start)
    raising_count, lowering_count = count_half_repetitions(solved, angle - start)
    covered = np.all((raising_count > 0) & (lowering_count > 0), axis=0)
    notes += _coverage_notes(solved, raising_count, lowering_count, covered, angle)
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
    operator = term_operator(layout, "static", q)
    static = (operator @ beta).reshape(shape)
    peak = max(LEAST_PEAK_N, float(np.max(np.abs(static))))
    # With its own motion a force gives its lag away; where it does not, less scatter is enough to doubt it.
    follows = peak if all(lag.known for lag in lags) else UNRELATED_SHARE * peak
    if solved.fit.scale_n > follows:
        raise ProfileError(
            f"the force does not follow the arm: it scatters by {solved.fit.scale_n:.1f} N about a fit of "
            f"{peak:.1f} N at most",
            where=", ".join(session.name for session in sessions),
            remedy="check that both streams are of the same session and that the load cell is connected",
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
    friction = (term_operator(layout, "friction", q) @ beta).reshape(shape)
    inertia = (term_operator(layout, "inertia", q) @ beta).reshape(shape)
    spread, freedom = statistical_covariance(solved, operator, angles=q.size)
    statistical_u = np.sqrt(np.maximum(np.diag(spread), 0.0)).reshape(shape)
    parts = systematic_parts(solved, sessions, lags, reference, q)
    covariance = spread + sum(np.outer(curve.ravel(), curve.ravel()) for _, curve, _, _ in parts)
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0)).reshape(shape)
    repetitions = [
        repetition
        for rows, lag in zip(solved.sessions, lags, strict=True)
        for repetition in find_repetitions(
            rows.aligned, rows.runs, lag.value_s, handle_radius_m=reference.handle_radius_m
        )
    ]
    u_q = np.concatenate([rows.aligned.u_q_rad[rows.centre] for rows in solved.sessions])
    model = _model(solved, q)
    weights = np.concatenate(solved.fit.weights)
    health: dict[str, float | int | str | bool] = {
        "residual_n": round(solved.fit.scale_n, 4),
        "rows_used": int(np.count_nonzero(weights > 0.05)),
        "rows_rejected_percent": round(100.0 * float(np.mean(weights <= 0.05)), 2),
        "movements": int(sum(np.unique(rows.run).size for rows in solved.sessions)),
        "cutoff_hz": round(cutoff_hz([r.aligned for r in solved.sessions]), 2),
    }
    notes += disagreement_notes(solved, start)
    notes += _lag_notes(solved, lags)
    notes += _quality_notes(solved, static, friction)
    return ProfileEstimate(
        machine_name=reference.machine_name,
        start_angle_rad=start,
        u_start_angle_rad=reference.u_start_angle_rad,
        angle_rad=angle,
        loads_kg=layout.loads_kg,
        static_n=static,
        static_u95_n=half_width_95(u, statistical_u, freedom),
        raising_n=static + friction,
        lowering_n=static - friction,
        friction_n=friction,
        passes_raising=raising_count,
        passes_lowering=lowering_count,
        covariance_n2=np.asarray(covariance),
        inertia_n_per_rad_s2=inertia[0],
        inertia_by_load_n_per_rad_s2=inertia,
        viscous_n_per_rad_s=model.viscous_n_per_rad_s,
        lag=lags[0],
        lags=tuple(lags),
        repetitions=tuple(repetitions),
        budget=make_budget(parts, statistical_u),
        model=model,
        angle_rms_u_rad=float(np.sqrt(np.mean(u_q**2))),
        health=health,
        warnings=tuple(dict.fromkeys(notes)),
    )


def _model(solved: Solved, q_rad: Floats) -> ForceModel:
    """Terms on the grid as offset and slope per kilogram."""
    layout, beta = solved.layout, solved.fit.smoothed.coefficients
    slices = layout.slices()
    zero = layout.relative(0.0) if layout.loads_differ else 0.0

    def by_load(middle: Floats, slope: Floats) -> tuple[Floats, Floats]:
        return middle + zero * slope, slope / layout.scale_kg

    def term(name: str, values: Floats) -> tuple[Floats, Floats]:
        middle = np.asarray(values @ beta[slices[name, False]])
        slope = values @ beta[slices[name, True]] if (name, True) in slices else np.zeros_like(middle)
        return by_load(middle, np.asarray(slope))

    static, friction, inertia = (
        term(name, term_values(layout, name, q_rad)) for name in ("static", "friction", "inertia")
    )
    bend = term("inertia", layout.bases.inertia_bend(q_rad))
    turning = term_values(layout, "squared", q_rad) @ beta[slices["squared", False]]
    rest = by_load(*(share * turning for share in layout.felt))
    return ForceModel(
        static_n=static[0],
        static_n_per_kg=static[1],
        friction_n=friction[0],
        friction_n_per_kg=friction[1],
        inertia_n_per_rad_s2=inertia[0],
        inertia_n_per_rad_s2_per_kg=inertia[1],
        speed_n_per_rad2_s2=bend[0] + rest[0],
        speed_n_per_rad2_s2_per_kg=bend[1] + rest[1],
        viscous_n_per_rad_s=float(beta[slices["viscous", False]][0]),
        loads_differ=layout.loads_differ,
    )


def _degrees(angle_rad: Floats) -> str:
    """Angles as ranges in words: "−20° to −12°, 50° to 55°"."""
    values = np.degrees(angle_rad)
    step = np.median(np.diff(values)) if values.size > 1 else 1.0
    breaks = np.flatnonzero(np.diff(values) > 1.5 * step)
    starts = np.concatenate([[0], breaks + 1])
    stops = np.concatenate([breaks, [values.size - 1]])
    ends = [(f"{values[a]:z.0f}°", f"{values[b]:z.0f}°") for a, b in zip(starts, stops, strict=True)]
    ranges = [low if low == high else f"{low} to {high}" for low, high in ends]
    return ", ".join(ranges).replace("-", "−")


def _coverage_notes(
    solved: Solved, raising: Indices, lowering: Indices, covered: Flags, angle: Floats
) -> list[str]:
    notes = []
    inner = np.zeros_like(covered)
    if np.any(covered):
        first, last = np.flatnonzero(covered)[[0, -1]]
        inner[first : last + 1] = True
    several = solved.layout.loads_differ
    for k, load in enumerate(solved.layout.loads_kg):
        name = f" at {load:g} kg" if several else ""
        lost = (raising[k] == 0) | (lowering[k] == 0)
        if np.any(lost & inner):
            notes.append(
                f"not covered both ways{name}: {_degrees(angle[lost & inner])}; no profile is given there"
            )
        edge = lost & ~inner
        if np.count_nonzero(edge) > 0.06 * angle.size:
            notes.append(f"only partly covered{name}: {_degrees(angle[edge])} left out of the profile")
        few = covered & (np.minimum(raising[k], lowering[k]) < 2)
        if np.count_nonzero(few) > 0.06 * angle.size:
            notes.append(f"passed only once one way{name}: {_degrees(angle[few])}; the band is wider there")
    return notes


def _lag_notes(solved: Solved, lags: Sequence[Lag]) -> list[str]:
    notes = []
    for rows, lag in zip(solved.sessions, lags, strict=True):
        name = rows.aligned.name
        if not lag.known:
            notes.append(
                f"{name}: the motion does not tell the lag between the sensors: too slow or too even, or the streams "
                f"do not belong together ({1e3 * lag.value_s:.0f} ms assumed, "
                f"u = {1e3 * lag.u_s:.0f} ms); the band is wider for it: add brisk repetitions or a knock"
            )
        elif not SEARCH_S[0] <= lag.value_s <= SEARCH_S[1]:
            notes.append(
                f"{name}: the force comes {1e3 * lag.value_s:.0f} ms after the motion, more than sensors delay; it is "
                "allowed for, but check how the two clocks were joined"
            )
        if not lag.agree:
            found = ", ".join(f"{r.method} {1e3 * r.value_s:.1f}({1e3 * r.u_s:.1f}) ms" for r in lag.readings)
            notes.append(f"{name}: the ways to find the lag disagree: {found}")
    return notes


def _quality_notes(solved: Solved, static: Floats, friction: Floats) -> list[str]:
    notes = []
    peak = float(np.max(np.abs(static)))
    if solved.fit.scale_n > 0.03 * peak:
        notes.append(
            f"the force scatters by {solved.fit.scale_n:.1f} N about the fit "
            f"({100 * solved.fit.scale_n / peak:.0f} % of the peak): check the sensors' mounting"
        )
    kept = np.concatenate(solved.fit.kept)
    rejected = float(np.mean(np.concatenate(solved.fit.weights)[kept] <= 0.05))
    if rejected > 0.05:
        notes.append(
            f"{100 * rejected:.0f} % of the moving data did not fit and was left out "
            "(knocks, hands off the handle, help or gaps)"
        )
    if np.min(friction) < -0.02 * peak:
        notes.append(
            "friction comes out negative: the arm was driven, or the lag between the sensors is wrong"
        )
    if -float(np.min(static)) > float(np.max(static)):
        notes.append("the force is mostly negative: check the sign of the load cell")
    return notes
