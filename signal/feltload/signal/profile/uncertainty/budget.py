"""Systematic contributions to the static profile, each as the signed curve of one standard uncertainty."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.core import Floats
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.latency import gradient_n_s
from feltload.signal.alignment.solved import Solved
from feltload.signal.profile.uncertainty.bands import term_operator
from feltload.signal.profile.uncertainty.budget_item import BudgetBasis, BudgetItem, BudgetSource
from feltload.signal.session import ForceUncertainty, Reference, Session

DRIFT_N_PER_MIN = 0.1
"""Drift of the zero when neither a certificate nor a closing rest states it (common practice, no source)."""

PULL_WANDER_RAD = np.radians(1.0)
"""How far the hands' pull wanders from the cell's line when nothing states it (common practice, no source)."""


def systematic_parts(
    solved: Solved, sessions: Sequence[Session], lags: Sequence[Lag], reference: Reference, q_rad: Floats
) -> list[BudgetItem]:
    """Every systematic source with its signed curve.

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

    def through(changes: list[Floats | float]) -> Floats:
        return np.asarray(operator @ solved.response(changes)).reshape(shape)

    def only(index: int, change: Floats | float) -> list[Floats | float]:
        return [change if k == index else 0.0 for k in range(len(sessions))]

    worst = max(sessions, key=lambda s: s.force_uncertainty.gain).force_uncertainty
    wander = reference.u_pull_angle_rad or PULL_WANDER_RAD
    pull_stated = reference.u_pull_angle_rad > 0
    items = [
        _gain_item(worst, static * worst.gain),
        BudgetItem(
            BudgetSource.LINE_OF_PULL,
            # A cell at an angle to the pull reads its cosine.
            static * wander**2 / np.sqrt(2.0),
            BudgetBasis.STATED if pull_stated else BudgetBasis.DEFAULT,
            stated=pull_stated,
            figures={"angle_rad": float(wander)},
        ),
    ]
    if reference.u_start_angle_rad > 0:
        curve = -slope * reference.u_start_angle_rad
        items.append(BudgetItem(BudgetSource.START_ANGLE, curve, BudgetBasis.MACHINE_FILE))
    for k, (session, rows, lag) in enumerate(zip(sessions, solved.sessions, lags, strict=True)):
        known, name = session.force_uncertainty, session.name
        time = rows.aligned.time_s
        centre = time[np.clip(rows.centre, 0, time.size - 1)]
        # A stream that begins after the tare has drifted since then.
        since_s = time[0] if session.tare_window_s is None else min(time[0], session.tare_window_s[1])
        elapsed = (centre - since_s) / 60.0
        drift = known.drift_n * elapsed / max((time[-1] - since_s) / 60.0, 1e-9)
        if not known.drift_stated:
            drift = DRIFT_N_PER_MIN * elapsed
        items += [
            BudgetItem(
                BudgetSource.FORCE_ZERO,
                through(only(k, known.zero_n)),
                BudgetBasis.TARE if known.zero_stated else BudgetBasis.DEFAULT,
                name,
                known.zero_stated,
            ),
            BudgetItem(
                BudgetSource.ZERO_DRIFT,
                through(only(k, drift)),
                BudgetBasis.ZERO_AFTERWARDS if known.drift_stated else BudgetBasis.DEFAULT,
                name,
                known.drift_stated,
            ),
        ]
        own = layout.gather(solved.fit.smoothed.coefficients, rows.aligned.load_kg)
        along = layout.bases.static.sparse(rows.q_rad, derivative=1) @ own[: layout.bases.static.size]
        # The angle's error over seconds shows in the residuals, which the statistical part counts. What is the
        # same in every repetition does not show there.
        angle_errors = (
            (BudgetSource.ANGLE_SCALE, rows.aligned.u_scale * rows.q_rad),
            (BudgetSource.ANGLE_START_STOP, rows.aligned.u_reference_rad),
            (BudgetSource.ANGLE_SHAPE, rows.aligned.u_shape_rad[rows.centre]),
        )
        items += [
            BudgetItem(source, through(only(k, -along * error_rad)), BudgetBasis.MOTION_SMOOTHER, name)
            for source, error_rad in angle_errors
        ]
        late = -gradient_n_s(rows, layout, solved.fit) * lag.u_s
        methods = tuple(str(reading.method) for reading in lag.readings)
        items.append(
            BudgetItem(
                BudgetSource.LAG,
                through(only(k, late)),
                BudgetBasis.LAG_READINGS,
                name,
                lag.known,
                {"methods": methods},
            )
        )
        if session.load_u_kg:
            if layout.loads_differ:
                part = layout.slices()["static", True]
                per_kg = layout.bases.static.sparse(rows.q_rad) @ solved.fit.smoothed.coefficients[part]
                curve = through(only(k, per_kg / layout.scale_kg * session.load_u_kg))
                basis = BudgetBasis.STATED
            else:
                curve = static * session.load_u_kg / max(session.load_kg, 1e-9) / len(sessions) ** 0.5
                basis = BudgetBasis.STATED_AT_MOST
            items.append(BudgetItem(BudgetSource.LOAD_MASS, curve, basis, name))
    return items


def _gain_item(known: ForceUncertainty, curve_n: Floats) -> BudgetItem:
    if known.certificate_serial:
        basis, figures = BudgetBasis.CERTIFICATE, {"serial": known.certificate_serial}
    else:
        basis, figures = BudgetBasis.STATED if known.gain_stated else BudgetBasis.DEFAULT, {}
    return BudgetItem(
        BudgetSource.FORCE_GAIN, curve_n, basis, stated=known.gain_stated, figures=dict(figures)
    )


def make_budget(systematic: Sequence[BudgetItem], statistical_u_n: Floats) -> tuple[BudgetItem, ...]:
    """Budget table, largest first; `statistical_u_n` has shape (m, n)."""
    statistical = BudgetItem(BudgetSource.REPEATABILITY, statistical_u_n, BudgetBasis.HALF_REPETITION_SPREAD)
    return tuple(sorted([statistical, *systematic], key=lambda item: -item.mean_square_n2))
