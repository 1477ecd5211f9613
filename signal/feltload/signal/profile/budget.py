"""Systematic contributions to the static profile, each as the signed curve of one standard uncertainty."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.core import Floats
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.latency import gradient_n_s
from feltload.signal.alignment.solved import Solved
from feltload.signal.profile.bands import term_operator
from feltload.signal.profile.estimate import START_ANGLE_SOURCE, BudgetItem
from feltload.signal.session import Reference, Session

DRIFT_N_PER_MIN = 0.1
"""Drift of the zero when neither a certificate nor a closing rest states it (common practice, no source)."""

PULL_WANDER_RAD = np.radians(1.0)
"""How far the hands' pull wanders from the cell's line when nothing states it (common practice, no source)."""

Part = tuple[str, Floats, bool, str]


def systematic_parts(
    solved: Solved, sessions: Sequence[Session], lags: Sequence[Lag], reference: Reference, q_rad: Floats
) -> list[Part]:
    """Source, signed curve (m, n) in N, whether its size was stated, and where it comes from.

    Notes
    -----
    Each curve is the first-order change of the estimated static force (GUM 5.1.3), obtained by sending the
    error of the input through the same regression that made the estimate.
    """
    layout = solved.layout
    operator = term_operator(layout, "static", q_rad)
    shape = (layout.loads_kg.size, q_rad.size)
    static = (operator @ solved.fit.smoothed.coefficients).reshape(shape)
    slope: Floats = np.asarray(np.gradient(static, q_rad, axis=1))
    parts: list[Part] = []

    def through(changes: list[Floats | float]) -> Floats:
        return np.asarray(operator @ solved.response(changes)).reshape(shape)

    def only(index: int, change: Floats | float) -> list[Floats | float]:
        return [change if k == index else 0.0 for k in range(len(sessions))]

    worst = max(sessions, key=lambda s: s.force_uncertainty.gain).force_uncertainty
    parts.append(("force calibration gain", static * worst.gain, worst.gain_stated, worst.note))
    wander = reference.u_pull_angle_rad or PULL_WANDER_RAD
    parts.append(
        (
            "line of pull",
            static * wander**2 / np.sqrt(2.0),
            reference.u_pull_angle_rad > 0,
            f"{np.degrees(wander):.1f} deg between pull and cell, which then reads 1/cos of it",
        )
    )
    if reference.u_start_angle_rad > 0:
        parts.append((START_ANGLE_SOURCE, -slope * reference.u_start_angle_rad, True, "machine file"))
    for k, (session, rows, lag) in enumerate(zip(sessions, solved.sessions, lags, strict=True)):
        label = f" ({session.name})" if len(sessions) > 1 else ""
        known = session.force_uncertainty
        time = rows.aligned.time_s
        centre = time[np.clip(rows.centre, 0, time.size - 1)]
        # A stream that begins after the tare has drifted since then.
        since_s = time[0] if session.tare_window_s is None else min(time[0], session.tare_window_s[1])
        elapsed = (centre - since_s) / 60.0
        parts.append((f"force zero{label}", through(only(k, known.zero_n)), known.zero_stated, "tare"))
        drift = known.drift_n * elapsed / max((time[-1] - since_s) / 60.0, 1e-9)
        if not known.drift_stated:
            drift = DRIFT_N_PER_MIN * elapsed
        parts.append(
            (f"drift of the zero{label}", through(only(k, drift)), known.drift_stated, "since the tare")
        )
        own = layout.gather(solved.fit.smoothed.coefficients, rows.aligned.load_kg)
        along = layout.bases.static.sparse(rows.q_rad, derivative=1) @ own[: layout.bases.static.size]
        # The angle's error over seconds shows in the residuals, which the statistical part counts. What is the
        # same in every repetition does not show there.
        angle_errors = (
            ("scale", rows.aligned.u_scale * rows.q_rad, "proportional to the rotation"),
            ("start stop", rows.aligned.u_reference_rad, "where rotation is counted from"),
            ("shape", rows.aligned.u_shape_rad[rows.centre], "the same at a position in every repetition"),
        )
        for what, error_rad, note in angle_errors:
            parts.append((f"lever angle, {what}{label}", through(only(k, -along * error_rad)), True, note))
        late = -gradient_n_s(rows, layout, solved.fit) * lag.u_s
        parts.append(
            (f"lag{label}", through(only(k, late)), lag.known, ", ".join(r.method for r in lag.readings))
        )
        if session.load_u_kg:
            if layout.loads_differ:
                part = layout.slices()["static", True]
                per_kg = layout.bases.static.sparse(rows.q_rad) @ solved.fit.smoothed.coefficients[part]
                curve = through(only(k, per_kg / layout.scale_kg * session.load_u_kg))
                note = "as stated"
            else:
                curve = static * session.load_u_kg / max(session.load_kg, 1e-9) / len(sessions) ** 0.5
                note = "at most: one load cannot tell its share from the arm's"
            parts.append((f"load mass{label}", curve, True, note))
    return parts


def make_budget(parts: Sequence[Part], statistical_u_n: Floats) -> tuple[BudgetItem, ...]:
    """Budget table, largest first; `statistical_u_n` has shape (m, n)."""
    rows: list[tuple[str, Floats, bool, str, bool]] = [
        ("repeatability and noise", statistical_u_n, True, "spread between movements", False)
    ]
    rows += [(source, curve, stated, note, True) for source, curve, stated, note in parts]
    squares = [float(np.mean(curve**2)) for _, curve, _, _, _ in rows]
    total = max(sum(squares), 1e-300)
    items = [
        BudgetItem(source, curve, float(np.sqrt(square)), square / total, systematic, stated, note)
        for (source, curve, stated, note, systematic), square in zip(rows, squares, strict=True)
    ]
    return tuple(sorted(items, key=lambda item: -item.share))
