"""Comparison of a measured profile with the surveyed machine: E_n along the curve and one verdict over it.

Measurement and model are compared at the rotation q from the start stop; what both take from the machine file (its
start angle) is counted once, on the model's side. E_n is that of ISO/IEC 17043 and ISO 13528.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from feltload.calibration.agreement.contrasts import LEVEL, MODEL_FORM, Cause, Contrasts
from feltload.calibration.agreement.explanation import CurvePoint, Explanation, explain
from feltload.calibration.agreement.result import Agreement
from feltload.calibration.agreement.survey_fit import SurveyFit, fit_survey
from feltload.calibration.errors import AgreementError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.model_band import ModelBand, model_band, predict
from feltload.calibration.machine.parameters import ParameterKey
from feltload.calibration.weights.gravity import Gravity, local_gravity
from feltload.core import Floats
from feltload.signal import BudgetSource, ProfileEstimate

_FEWEST_ANGLES: Final = 5
_TESTED_ANGLES: Final = 40


def check_agreement(
    estimate: ProfileEstimate, machine: Machine, *, gravity: Gravity | None = None, seed: int = 1
) -> Agreement:
    """Compare a measured profile with the surveyed machine.

    Parameters
    ----------
    estimate : ProfileEstimate
        Measured profile, one or more loads.
    machine : Machine
        The survey.
    gravity : Gravity, optional
        Local gravity with its uncertainty; a value for an unknown place when left out.
    seed : int
        Of the simulations.

    Raises
    ------
    AgreementError
        The profile covers too little, or its budget does not name what it shares with the machine file.
    GeometryError
        The surveyed machine cannot be assembled over the measured travel.
    """
    g = gravity if gravity is not None else local_gravity()
    measured = np.asarray(estimate.static_n, dtype=float)
    usable = np.isfinite(measured).all(axis=0) & np.isfinite(estimate.static_u95_n).all(axis=0)
    if np.count_nonzero(usable) < _FEWEST_ANGLES:
        raise AgreementError(
            f"the profile has {np.count_nonzero(usable)} angles that every load covers",
            where=estimate.machine_name,
            remedy="record both loads through the same travel",
        )
    angle = estimate.angle_rad[usable]
    q = angle - estimate.start_angle_rad
    loads = np.asarray(estimate.loads_kg, dtype=float)
    keep = np.tile(usable, loads.size)
    covariance = _own_covariance(estimate)[np.ix_(keep, keep)]
    force = measured[:, usable].ravel()
    peak = float(np.abs(force).max())

    band = model_band(machine, q, loads, g.value, g.u, seed=seed)
    tested = _thin(q.size, loads.size)
    contrasts = Contrasts(
        (force - band.force_n)[tested],
        (covariance + band.covariance_n2)[np.ix_(tested, tested)],
        band.shapes_n[tested],
        peak,
        seed=seed,
    )
    test = contrasts.test()
    causes, explained = contrasts.causes() if test.p_value <= LEVEL else ([], True)
    sets = _sets(causes, machine)
    released = sets[0] if sets else ()
    fit = _fit(machine, q, loads, g.value, force, covariance, band, tested, released, peak)
    after = predict(machine.with_parameters(fit.values), q, loads, g.value)

    load_kg, angle_rad = np.repeat(loads, q.size), np.tile(angle, loads.size)
    measured_u = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    remaining = None if explained else _most_left(load_kg, angle_rad, force - after, measured_u)
    return Agreement(
        load_kg=load_kg,
        angle_rad=angle_rad,
        measured_n=force,
        measured_u_n=measured_u,
        model_n=band.force_n,
        model_u_n=np.sqrt(np.diag(band.covariance_n2)),
        fitted_model_n=after,
        fitted=fit.dimensions,
        explanation=explain(machine, fit.dimensions, sets, remaining)
        if test.p_value <= LEVEL
        else Explanation(),
        test=test,
        first_order=band.first_order,
        g_m_s2=g.value,
        g_u_m_s2=g.u,
        default_u=tuple(p.key for p in machine.parameters if p.u_is_default and p.u > 0.0),
    )


def _sets(causes: Sequence[Cause], machine: Machine) -> list[tuple[ParameterKey, ...]]:
    return [tuple(machine.parameters[i].key for i in cause.indices) for cause in causes]


def _most_left(load_kg: Floats, angle_rad: Floats, left_n: Floats, u_n: Floats) -> CurvePoint:
    """Where most is left for the measurement's uncertainty."""
    at = int(np.argmax(np.abs(left_n) / np.maximum(u_n, 1e-9)))
    return CurvePoint(float(load_kg[at]), float(angle_rad[at]), float(left_n[at]))


def _own_covariance(estimate: ProfileEstimate) -> Floats:
    """Covariance of the measured curve at given q: what it shares with the machine file taken out."""
    covariance = np.array(estimate.covariance_n2, dtype=float)
    shared = [item for item in estimate.budget if item.source is BudgetSource.START_ANGLE]
    if estimate.u_start_angle_rad > 0.0 and len(shared) != 1:
        raise AgreementError(
            f"the profile's budget lists the start angle {len(shared)} times instead of once",
            where=estimate.machine_name,
            remedy="recreate the profile from its recordings",
        )
    for item in shared:
        curve = np.nan_to_num(np.asarray(item.curve_n, dtype=float).ravel())
        covariance = covariance - np.outer(curve, curve)
    return np.asarray(0.5 * (covariance + covariance.T))


def _thin(angles: int, loads: int) -> NDArray[np.intp]:
    """Indices of at most 40 angles of each load."""
    chosen = np.unique(np.linspace(0, angles - 1, min(angles, _TESTED_ANGLES)).round().astype(np.intp))
    return np.concatenate([chosen + load * angles for load in range(loads)])


def _fit(
    machine: Machine,
    q: Floats,
    loads: Floats,
    g: float,
    force: Floats,
    covariance: Floats,
    band: ModelBand,
    tested: NDArray[np.intp],
    released: Sequence[ParameterKey],
    peak: float,
) -> SurveyFit:
    angles = q[tested[: tested.size // loads.size]]
    own = covariance + np.outer(band.gravity_n, band.gravity_n)
    own = own[np.ix_(tested, tested)] + np.eye(tested.size) * (MODEL_FORM * peak) ** 2
    return fit_survey(
        lambda values: predict(machine, angles, loads, g, values),
        force[tested],
        own,
        [p for p in machine.parameters if p.u > 0.0],
        released,
    )
