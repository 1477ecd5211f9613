"""Agreement of a measured profile with the surveyed machine: E_n along the curve and one verdict over it.

E_n = (measured - model) / sqrt(U_measured² + U_model²) with expanded uncertainties, k = 2 (ISO/IEC 17043,
ISO 13528). Measurement and model are compared at the rotation q from the start stop; what both take from the
machine file (its start angle) is counted once, on the model's side.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal, Protocol

import numpy as np

from feltload.calibration.agreement.explanation import explain
from feltload.calibration.agreement.survey_fit import FittedDimension, SurveyFit, fit_survey
from feltload.calibration.agreement.swing import SwingCheck
from feltload.calibration.agreement.verdict import LEVEL, MODEL_FORM, Cause, Test, Verdict
from feltload.calibration.errors import AgreementError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.model_band import ModelBand, model_band, predict
from feltload.calibration.weights.gravity import local_gravity
from feltload.core import Floats, write_file
from feltload.signal import START_ANGLE_SOURCE, ProfileEstimate

VerdictWord = Literal["agrees", "differs", "inconclusive"]

WIDEST_BAND: Final = 0.10
"""A combined 95 % band wider than this part of the peak (half-width, mean over the curve) tells nothing."""
_FEWEST_ANGLES: Final = 5
_TESTED_ANGLES: Final = 40


class GravityLike(Protocol):
    """Local gravity: value and standard uncertainty, m/s²."""

    @property
    def value(self) -> float: ...

    @property
    def u(self) -> float: ...


@dataclass(frozen=True)
class Agreement:
    """Result of holding a measured profile against the machine's geometry.

    Attributes
    ----------
    verdict : str
        ``"agrees"``, ``"differs"`` or ``"inconclusive"``.
    en_max : float
        Largest \\|E_n\\|.
    load_kg, angles_deg, measured_n, model_n, model_u95_n, en : ndarray, shape (k,)
        Loads one after the other, angles ascending in each.
    residual_n, residual_u95_n : ndarray, shape (k,)
        Measured minus the fitted machine, and the 95 % half-width of the measurement alone.
    fitted : tuple of FittedDimension
        Every uncertain dimension, fitted.
    changed : tuple of str
        The smallest set of dimensions that explains a difference; empty when there is none to explain.
    explained : bool
        Whether changed dimensions explain the difference (true when there is none).
    test : Test
        The simultaneous test behind the verdict.
    band_percent : float
        Mean half-width of the combined 95 % band in percent of the peak.
    first_order : bool
        Whether Monte Carlo confirmed the model band.
    g_m_s2, g_u_m_s2 : float
        Gravity it was reckoned with, and its standard uncertainty.
    default_u : tuple of str
        Dimensions whose uncertainty is a default.
    explanation : str
        All of it in plain words.
    """

    verdict: VerdictWord
    en_max: float
    load_kg: Floats
    angles_deg: Floats
    measured_n: Floats
    model_n: Floats
    model_u95_n: Floats
    en: Floats
    residual_n: Floats
    residual_u95_n: Floats
    fitted: tuple[FittedDimension, ...]
    changed: tuple[str, ...]
    explained: bool
    test: Test
    band_percent: float
    first_order: bool
    g_m_s2: float
    g_u_m_s2: float
    default_u: tuple[str, ...]
    explanation: str


def check_agreement(
    estimate: ProfileEstimate, machine: Machine, *, gravity: GravityLike | None = None, seed: int = 1
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
        The profile covers too little, or its budget does not tell what it shares with the machine file.
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
    spread = np.sqrt(np.diag(covariance) + np.diag(band.covariance_n2))
    en = (force - band.force_n) / (2.0 * spread)
    band_percent = float(100.0 * 1.96 * np.mean(spread) / peak)

    tested = _thin(q.size, loads.size)
    judge = Verdict(
        (force - band.force_n)[tested],
        (covariance + band.covariance_n2)[np.ix_(tested, tested)],
        band.shapes_n[tested],
        peak,
        seed=seed,
    )
    test = judge.test()
    differs = test.p_value <= LEVEL
    causes, explained = judge.causes() if differs else ([], True)
    changed = tuple(machine.parameters[i].name for i in causes[0].indices) if causes else ()

    fit, after = _fit(machine, q, loads, g.value, force, covariance, band, tested, changed, peak)
    residual = force - after
    measured_u95 = 1.96 * np.sqrt(np.diag(covariance))
    word: VerdictWord = (
        "differs" if differs else "inconclusive" if band_percent > 100.0 * WIDEST_BAND else "agrees"
    )
    agreement = Agreement(
        verdict=word,
        en_max=float(np.abs(en).max()),
        load_kg=np.repeat(loads, q.size),
        angles_deg=np.degrees(np.tile(angle, loads.size)),
        measured_n=force,
        model_n=band.force_n,
        model_u95_n=1.96 * np.sqrt(np.diag(band.covariance_n2)),
        en=en,
        residual_n=residual,
        residual_u95_n=measured_u95,
        fitted=fit.dimensions,
        changed=changed,
        explained=explained,
        test=test,
        band_percent=band_percent,
        first_order=band.first_order,
        g_m_s2=g.value,
        g_u_m_s2=g.u,
        default_u=tuple(p.name for p in machine.parameters if p.default_u and p.u > 0.0),
        explanation="",
    )
    return dataclasses.replace(agreement, explanation=explain(agreement, machine, _sets(causes, machine)))


def _sets(causes: Sequence[Cause], machine: Machine) -> list[tuple[str, ...]]:
    return [tuple(machine.parameters[i].name for i in cause.indices) for cause in causes]


def _own_covariance(estimate: ProfileEstimate) -> Floats:
    """Covariance of the measured curve at given q: what it shares with the machine file taken out."""
    covariance = np.array(estimate.covariance_n2, dtype=float)
    shared = [item for item in estimate.budget if item.source == START_ANGLE_SOURCE]
    if estimate.u_start_angle_rad > 0.0 and len(shared) != 1:
        raise AgreementError(
            f"the profile's budget lists the {START_ANGLE_SOURCE} {len(shared)} times instead of once",
            where=estimate.machine_name,
            remedy="make the profile again from its recordings",
        )
    for item in shared:
        curve = np.nan_to_num(np.asarray(item.curve_n, dtype=float).ravel())
        covariance = covariance - np.outer(curve, curve)
    return np.asarray(0.5 * (covariance + covariance.T))


def _thin(angles: int, loads: int) -> np.ndarray[Any, np.dtype[np.intp]]:
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
    tested: np.ndarray[Any, np.dtype[np.intp]],
    changed: Sequence[str],
    peak: float,
) -> tuple[SurveyFit, Floats]:
    """Fitted survey, and the force that the fitted machine predicts everywhere."""
    angles = q[tested[: tested.size // loads.size]]
    own = covariance + np.outer(band.gravity_n, band.gravity_n)
    own = own[np.ix_(tested, tested)] + np.eye(tested.size) * (MODEL_FORM * peak) ** 2
    fit = fit_survey(
        lambda values: predict(machine, angles, loads, g, values),
        force[tested],
        own,
        [p for p in machine.parameters if p.u > 0.0],
        changed,
    )
    return fit, predict(machine.with_parameters(fit.values), q, loads, g)


def write_agreement(directory: Path | str, agreement: Agreement, swing: SwingCheck | None = None) -> Path:
    """Write ``agreement.json``, with the free swing of the arm where there is one, and return its path."""

    def listed(values: Floats, digits: int) -> list[float]:
        return [round(float(v), digits) for v in values]

    data = {
        "verdict": agreement.verdict,
        "en_max": round(agreement.en_max, 4),
        "angles_deg": listed(agreement.angles_deg, 4),
        "measured_n": listed(agreement.measured_n, 4),
        "model_n": listed(agreement.model_n, 4),
        "en": listed(agreement.en, 4),
        "fitted": [dataclasses.asdict(dimension) for dimension in agreement.fitted],
        "explanation": agreement.explanation,
        "load_kg": listed(agreement.load_kg, 4),
        "model_u95_n": listed(agreement.model_u95_n, 4),
        "residual_n": listed(agreement.residual_n, 4),
        "residual_u95_n": listed(agreement.residual_u95_n, 4),
        "changed": list(agreement.changed),
        "explained": agreement.explained,
        "p_value": agreement.test.p_value,
        "band_percent": round(agreement.band_percent, 3),
        "first_order": agreement.first_order,
        "g_m_s2": round(agreement.g_m_s2, 5),
        "g_u_m_s2": round(agreement.g_u_m_s2, 5),
        "default_uncertainty": list(agreement.default_u),
        "free_swing": None if swing is None else _swing_record(swing),
    }
    path = Path(directory) / "agreement.json"
    write_file(path, json.dumps(data, indent=1, ensure_ascii=False) + "\n")
    return path


def _swing_record(check: SwingCheck) -> dict[str, float | int | bool | str]:
    return {
        "agrees": check.agrees,
        "en": round(check.en, 4),
        "moment_over_inertia_per_s2": round(check.swing.moment_over_inertia, 5),
        "u_per_s2": round(check.swing.u, 5),
        "surveyed_per_s2": round(check.predicted, 5),
        "surveyed_u_per_s2": round(check.u_predicted, 5),
        "amplitude_deg": round(float(np.degrees(check.swing.amplitude_rad)), 2),
        "periods": check.swing.periods,
        "explanation": check.text,
    }
