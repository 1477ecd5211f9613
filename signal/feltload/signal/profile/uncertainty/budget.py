"""Systematic contributions to a fitted force, each as the signed curve of one standard uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from feltload.core import Figure, Floats
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.latency import gradient_n_s
from feltload.signal.alignment.solved import Solved
from feltload.signal.alignment.zero_drift import drift_directions
from feltload.signal.force_uncertainty import ForceUncertainty
from feltload.signal.profile.uncertainty.bands import term_operator
from feltload.signal.profile.uncertainty.budget_item import BudgetBasis, BudgetItem, BudgetSource
from feltload.signal.regression.rows import Rows
from feltload.signal.session import Reference, Session

PULL_WANDER_RAD = np.radians(1.0)
"""How far the hands' pull wanders from the cell's line when nothing states it (common practice, no source)."""


@dataclass(frozen=True)
class InputError:
    """One standard uncertainty of one input, and what it changes in the fit.

    Attributes
    ----------
    source, basis, session, stated, figures
        As in `BudgetItem`.
    coefficients : ndarray, shape (p,), optional
        Change of the fitted coefficients.
    share : float
        Change of a fitted force as a part of it.
    shift_rad : float
        Rotation by which a fitted force stands elsewhere.
    """

    source: BudgetSource
    basis: BudgetBasis = BudgetBasis.STATED
    session: str = ""
    stated: bool = True
    figures: Mapping[str, Figure] = field(default_factory=dict)
    coefficients: Floats | None = None
    share: float = 0.0
    shift_rad: float = 0.0

    def item(self, term: FittedTerm) -> BudgetItem:
        """What it does to a fitted force."""
        curve = self.share * term.value_n - self.shift_rad * term.slope_n_per_rad
        if self.coefficients is not None:
            curve = curve + (term.operator @ self.coefficients).reshape(term.value_n.shape)
        return BudgetItem(self.source, curve, self.basis, self.session, self.stated, dict(self.figures))


@dataclass(frozen=True)
class FittedTerm:
    """A force of the fit along the travel.

    Attributes
    ----------
    operator : ndarray, shape (m * n, p)
        Coefficients to its values.
    value_n, slope_n_per_rad : ndarray, shape (m, n)
        Values, and their slope along the rotation.
    """

    operator: Floats
    value_n: Floats
    slope_n_per_rad: Floats

    @classmethod
    def of(cls, solved: Solved, name: str, q_rad: Floats) -> FittedTerm:
        """The named term of a fit: "static" or "friction"."""
        operator = term_operator(solved.layout, name, q_rad)
        value = (operator @ solved.fit.smoothed.coefficients).reshape(-1, q_rad.size)
        return cls(operator, value, np.asarray(np.gradient(value, q_rad, axis=1)))


def input_errors(
    solved: Solved,
    sessions: Sequence[Session],
    lags: Sequence[Lag],
    reference: Reference,
    static: FittedTerm,
) -> list[InputError]:
    """Every systematic source with what it changes; `static` is the static force of the fit.

    Notes
    -----
    Each is the first-order change of the estimate (GUM 5.1.3), obtained by sending the error of the input through the
    same regression that made the estimate.
    """
    layout = solved.layout

    def only(index: int, change: Floats | float) -> Floats:
        return solved.response([change if k == index else 0.0 for k in range(len(sessions))])

    worst = max(sessions, key=lambda s: s.force_uncertainty.gain).force_uncertainty
    wander = reference.u_pull_angle_rad or PULL_WANDER_RAD
    pull_stated = reference.u_pull_angle_rad > 0
    errors = [
        _gain_error(worst),
        InputError(
            BudgetSource.LINE_OF_PULL,
            BudgetBasis.STATED if pull_stated else BudgetBasis.DEFAULT,
            stated=pull_stated,
            figures={"angle_rad": float(wander)},
            # A cell at an angle to the pull reads its cosine.
            share=float(wander**2 / np.sqrt(2.0)),
        ),
    ]
    if reference.u_start_angle_rad > 0:
        errors.append(
            InputError(
                BudgetSource.START_ANGLE, BudgetBasis.MACHINE_FILE, shift_rad=reference.u_start_angle_rad
            )
        )
    for k, (session, rows, lag) in enumerate(zip(sessions, solved.sessions, lags, strict=True)):
        known, name = session.force_uncertainty, session.name
        time = rows.aligned.time_s
        centre = time[np.clip(rows.centre, 0, time.size - 1)]
        # A stream that begins after the tare has drifted since then.
        since_s = time[0] if session.tare_window_s is None else min(time[0], session.tare_window_s[1])
        elapsed = (centre - since_s) / 60.0
        drift = known.drift_n * elapsed / max((time[-1] - since_s) / 60.0, 1e-9)
        if not known.drift_stated:
            drift = known.drift_rate_n_per_min * elapsed
        errors += [
            InputError(
                BudgetSource.FORCE_ZERO,
                BudgetBasis.TARE if known.zero_stated else BudgetBasis.DEFAULT,
                name,
                known.zero_stated,
                coefficients=only(k, known.zero_n),
            ),
            _drift_error(only, rows, k, name, static)
            or InputError(
                BudgetSource.ZERO_DRIFT,
                BudgetBasis.ZERO_AFTERWARDS if known.drift_stated else BudgetBasis.DEFAULT,
                name,
                known.drift_stated,
                coefficients=only(k, drift),
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
        errors += [
            InputError(source, BudgetBasis.MOTION_SMOOTHER, name, coefficients=only(k, -along * error_rad))
            for source, error_rad in angle_errors
        ]
        late = -gradient_n_s(rows, layout, solved.fit) * lag.u_s
        methods = tuple(str(reading.method) for reading in lag.readings)
        errors.append(
            InputError(
                BudgetSource.LAG,
                BudgetBasis.LAG_READINGS,
                name,
                lag.known,
                {"methods": methods},
                coefficients=only(k, late),
            )
        )
        if session.load_u_kg:
            if layout.loads_differ:
                part = layout.slices()["static", True]
                per_kg = layout.bases.static.sparse(rows.q_rad) @ solved.fit.smoothed.coefficients[part]
                change = only(k, per_kg / layout.scale_kg * session.load_u_kg)
                errors.append(InputError(BudgetSource.LOAD_MASS, session=name, coefficients=change))
            else:
                share = session.load_u_kg / max(session.load_kg, 1e-9) / len(sessions) ** 0.5
                errors.append(
                    InputError(BudgetSource.LOAD_MASS, BudgetBasis.STATED_AT_MOST, name, share=share)
                )
    return errors


def _drift_error(
    only: Callable[[int, Floats], Floats], rows: Rows, number: int, name: str, static: FittedTerm
) -> InputError | None:
    """What stays uncertain of a drift that was estimated, in the direction that moves the static force most.

    That direction stands for all of them: it carries their whole variance.
    """
    if rows.aligned.zero_drift is None:
        return None
    directions = drift_directions(rows, rows.aligned.zero_drift)
    changes = np.stack([only(number, change) for change in directions.T], axis=1)
    _, sizes, turns = np.linalg.svd(static.operator @ changes, full_matrices=False)
    whole = np.sqrt(np.sum(sizes**2)) / max(float(sizes[0]), 1e-300)
    return InputError(
        BudgetSource.ZERO_DRIFT,
        BudgetBasis.REPETITIONS,
        name,
        coefficients=whole * (changes @ turns[0]),
    )


def smoothed_away(solved: Solved, term: FittedTerm) -> BudgetItem:
    """What smoothing takes off a curve, as the fit shows when it is made of its own curve once more."""
    beta = solved.fit.smoothed.coefficients
    lost = beta - solved.inverse @ (solved.data @ beta)
    return BudgetItem(BudgetSource.REPEATABILITY, (term.operator @ lost).reshape(term.value_n.shape))


def _gain_error(known: ForceUncertainty) -> InputError:
    if known.certificate_serial:
        basis, figures = BudgetBasis.CERTIFICATE, {"serial": known.certificate_serial}
    else:
        basis, figures = BudgetBasis.STATED if known.gain_stated else BudgetBasis.DEFAULT, {}
    return InputError(
        BudgetSource.FORCE_GAIN, basis, stated=known.gain_stated, figures=dict(figures), share=known.gain
    )


def make_budget(systematic: Sequence[BudgetItem], statistical_u_n: Floats) -> tuple[BudgetItem, ...]:
    """Budget table, largest first; `statistical_u_n` has shape (m, n)."""
    statistical = BudgetItem(BudgetSource.REPEATABILITY, statistical_u_n, BudgetBasis.HALF_REPETITION_SPREAD)
    return tuple(sorted([statistical, *systematic], key=lambda item: -item.mean_square_n2))
