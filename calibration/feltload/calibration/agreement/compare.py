"""Comparison of a measured profile with the surveyed machine: E_n along the curve and one verdict over it.

Measurement and model are compared at the rotation q from the start stop; what both take from the machine file (its
start angle) is counted once, on the model's side. E_n is that of ISO/IEC 17043 and ISO 13528.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.agreement.contrasts import MODEL_FORM, Contrasts
from feltload.calibration.agreement.curves import MeasuredCurves
from feltload.calibration.agreement.explanation import CauseSet, CurvePoint, Explanation, explain
from feltload.calibration.agreement.loads import LEAST_WRONG_KG, PLATE_PAIR_KG, FittedLoad, LoadColumns
from feltload.calibration.agreement.result import Agreement
from feltload.calibration.agreement.survey_fit import SurveyFit, fit_survey
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.model_band import ModelBand, model_band, predict
from feltload.calibration.weights.gravity import Gravity, local_gravity
from feltload.core import Floats
from feltload.signal import ProfileEstimate

TRIALS: Final = 1000
"""Simulated surveys that confirm the model's band."""


def check_agreement(
    estimate: ProfileEstimate,
    machine: Machine,
    *,
    gravity: Gravity | None = None,
    seed: int = 1,
    trials: int = TRIALS,
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
    trials : int
        Simulated surveys that confirm the model's band.

    Raises
    ------
    AgreementError
        The profile covers too little, or its budget does not name what it shares with the machine file.
    MachineError
        The machine file says nothing about what is lifted.
    GeometryError
        The surveyed machine cannot be assembled over the measured travel.
    """
    g = gravity if gravity is not None else local_gravity()
    curves = MeasuredCurves.of(estimate)
    machine.require_masses(curves.loads_kg.tolist())
    q, loads, force, tested = curves.q_rad, curves.loads_kg, curves.force_n, curves.tested
    band = model_band(machine, q, loads, g.value, g.u, trials=trials, seed=seed)
    columns = LoadColumns(machine, curves, g)
    test = Contrasts(
        (force - band.force_n)[tested],
        (curves.covariance_n2 + band.covariance_n2)[np.ix_(tested, tested)],
        band.shapes_n[tested],
        curves.peak_n,
        seed=seed,
    ).test()
    found = _Found((), (), True)
    if test.differs:
        found = _search(machine, curves, band, columns, seed)
    loads_there = _with_loads(loads, found.loads)
    fit = _fit(machine, curves, loads_there, g, band, found)
    after = predict(machine.with_parameters(fit.values), q, loads_there, g.value)

    load_kg, angle_rad = np.repeat(loads, q.size), np.tile(curves.angle_rad, loads.size)
    measured_u = np.sqrt(np.maximum(np.diag(curves.covariance_n2), 0.0))
    remaining = None if found.explained else _most_left(load_kg, angle_rad, force - after, measured_u)
    return Agreement(
        load_kg=load_kg,
        angle_rad=angle_rad,
        measured_n=force,
        measured_u_n=measured_u,
        model_n=band.force_n,
        model_u_n=np.sqrt(np.diag(band.covariance_n2)),
        fitted_model_n=after,
        fitted=fit.dimensions,
        explanation=explain(machine, fit.dimensions, found.loads, found.sets, remaining)
        if test.differs
        else Explanation(),
        test=test,
        first_order=band.first_order,
        g_m_s2=g.value,
        g_u_m_s2=g.u,
        default_u=tuple(p.key for p in machine.parameters if p.u_is_default and p.u > 0.0),
        travel=estimate.travel,
    )


@dataclass(frozen=True)
class _Found:
    """Sets of causes that explain a difference equally well, best first; the loads of the best one, fitted."""

    sets: tuple[CauseSet, ...]
    loads: tuple[FittedLoad, ...]
    explained: bool


def _search(
    machine: Machine, curves: MeasuredCurves, band: ModelBand, columns: LoadColumns, seed: int
) -> _Found:
    """The smallest plausible set of dimensions and loads that explains the difference."""
    count, tested, parameters = curves.loads_kg.size, curves.tested, machine.parameters
    # With more on the machine than was stated, its dimensions matter more.
    model_n2, shapes = columns.model_covariance_n2(columns.apparent_kg())
    if not band.first_order:
        model_n2 = np.maximum(np.diag(band.covariance_n2), np.diag(model_n2)) * np.eye(model_n2.shape[0])
    covariance = curves.covariance_n2 + model_n2
    blunders = np.array([p.blunder / p.u if p.u > 0.0 else 0.0 for p in parameters])
    causes, explained = Contrasts(
        (curves.force_n - band.force_n)[tested],
        covariance[np.ix_(tested, tested)],
        np.hstack([shapes, PLATE_PAIR_KG * columns.per_kg_n])[tested],
        curves.peak_n,
        least=np.concatenate([np.zeros(len(parameters)), np.full(count, LEAST_WRONG_KG / PLATE_PAIR_KG)]),
        lowest=np.concatenate([-blunders, -curves.loads_kg / PLATE_PAIR_KG]),
        highest=np.concatenate([blunders, np.full(count, np.inf)]),
        seed=seed,
    ).causes()
    indices = [cause.indices for cause in causes]
    if count == 1:
        # A single load and its place bend the curve alike; plates are looked at sooner than a dimension is measured.
        indices.sort(key=lambda chosen: not any(i >= len(parameters) for i in chosen))
    sets = tuple(
        CauseSet(
            tuple(parameters[i].key for i in chosen if i < len(parameters)),
            tuple(float(curves.loads_kg[i - len(parameters)]) for i in chosen if i >= len(parameters)),
        )
        for chosen in indices
    )
    best = indices[0] if indices else ()
    wrong = [i - len(parameters) for i in best if i >= len(parameters)]
    moved = shapes[:, [i for i in best if i < len(parameters)]]
    return _Found(sets, columns.fitted(wrong, covariance, moved), explained)


def _with_loads(stated_kg: Floats, fitted: tuple[FittedLoad, ...]) -> Floats:
    """The stated loads with the fitted ones in their place."""
    loads = stated_kg.copy()
    for load in fitted:
        loads[loads == load.stated_kg] = load.value_kg
    return loads


def _most_left(load_kg: Floats, angle_rad: Floats, left_n: Floats, u_n: Floats) -> CurvePoint:
    """Where most is left for the measurement's uncertainty."""
    at = int(np.argmax(np.abs(left_n) / np.maximum(u_n, 1e-9)))
    return CurvePoint(float(load_kg[at]), float(angle_rad[at]), float(left_n[at]))


def _fit(
    machine: Machine, curves: MeasuredCurves, loads_kg: Floats, g: Gravity, band: ModelBand, found: _Found
) -> SurveyFit:
    angles, tested = curves.tested_q_rad, curves.tested
    own = curves.covariance_n2 + np.outer(band.gravity_n, band.gravity_n)
    own = own[np.ix_(tested, tested)] + np.eye(tested.size) * (MODEL_FORM * curves.peak_n) ** 2
    return fit_survey(
        lambda values: predict(machine, angles, loads_kg, g.value, values),
        curves.force_n[tested],
        own,
        [p for p in machine.parameters if p.u > 0.0],
        found.sets[0].dimensions if found.sets else (),
    )
