"""A machine's profile predicted from its file, of the kind that a measurement gives."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.model_band import ModelBand, model_band
from feltload.calibration.machine.reference import reference_of
from feltload.calibration.prediction.arms import MomentArms, moment_arms
from feltload.calibration.prediction.facts import PredictionFact
from feltload.calibration.prediction.friction import FrictionRange, PredictedFriction, predicted_friction
from feltload.calibration.weights.gravity import Gravity, local_gravity
from feltload.core import (
    NORMAL_COVERAGE_95,
    Fact,
    Floats,
    Picture,
    Severity,
    Shown,
    Summary,
    runs_of_true,
)
from feltload.signal import (
    BudgetBasis,
    BudgetItem,
    BudgetSource,
    ForceModel,
    ProfileEstimate,
    ProfileHealth,
    ProfileMethod,
    placed,
    travel_of,
)

if TYPE_CHECKING:
    import pandas as pd

POSITIONS: Final = 81
TRIALS: Final = 1000
"""Simulated machines that confirm the band."""
MATTERS: Final = 0.01
"""Part of the variance from which a default uncertainty is reported."""
_NO_FORCE_N: Final = 0.1


@dataclass(frozen=True, repr=False)
class Prediction(Shown):
    """What a machine will ask for.

    Attributes
    ----------
    machine : Machine
    estimate : ProfileEstimate
        Of `ProfileMethod.PREDICTION`, at rotations from the start stop.
    arms : MomentArms
    gravity : Gravity
        That it was computed with.
    """

    machine: Machine
    estimate: ProfileEstimate
    arms: MomentArms
    gravity: Gravity

    def summary(self) -> Summary:
        """That of its profile."""
        return self.estimate.summary()

    def picture(self) -> Picture:
        """That of its profile."""
        return self.estimate.picture()

    def to_frame(self) -> pd.DataFrame:
        """The table of its profile; see `ProfileEstimate.to_frame`."""
        return self.estimate.to_frame()


def predict_profile(
    machine: Machine,
    *,
    travel_rad: float,
    loads_kg: Floats,
    gravity: Gravity | None = None,
    friction: FrictionRange | None = None,
    trials: int = TRIALS,
    seed: int = 1,
) -> Prediction:
    """Predict a machine's profile.

    Parameters
    ----------
    machine : Machine
    travel_rad : float
        Rotation from the start stop to the turn, above zero.
    loads_kg : ndarray, shape (m,)
        Loads, ascending.
    gravity : Gravity, optional
        Local gravity; a value for an unknown place when left out.
    friction : FrictionRange, optional
        What is expected of friction, where the file states no losses.
    trials, seed : int
        Of the simulated machines that confirm the band.

    Raises
    ------
    MachineError
        The file says nothing about what is lifted, or nothing resists.
    GeometryError
        The machine cannot be assembled over the travel.
    """
    loads = np.asarray(loads_kg, dtype=float)
    machine.require_masses(loads.tolist())
    place = gravity or local_gravity()
    q = np.linspace(0.0, travel_rad, POSITIONS)
    band = model_band(machine, q, loads, place.value, place.u, trials=trials, seed=seed)
    static = band.force_n.reshape(loads.size, q.size)
    if float(np.max(np.abs(static))) < _NO_FORCE_N:
        raise MachineError(
            f"nothing resists: the largest force is {np.max(np.abs(static)):.2g} N",
            where=machine.name,
            remedy="give a load, or the masses of the machine's own parts",
        )
    rubbing = predicted_friction(machine, q, loads, place.value, static, friction)
    reference = reference_of(machine)
    travel = travel_of(reference, reference.start_angle_rad + q)
    model = _model(machine, q, loads, place.value, rubbing)
    estimate = ProfileEstimate(
        machine_name=machine.name,
        start_angle_rad=reference.start_angle_rad,
        u_start_angle_rad=reference.u_start_angle_rad,
        angle_rad=travel.angle_rad,
        loads_kg=loads,
        static_n=static,
        static_u95_n=NORMAL_COVERAGE_95 * np.sqrt(np.diag(band.covariance_n2)).reshape(static.shape),
        friction_n=rubbing.friction_n,
        raising_count=np.zeros(static.shape, dtype=np.int64),
        lowering_count=np.zeros(static.shape, dtype=np.int64),
        covariance_n2=band.covariance_n2,
        inertia_by_load_n_per_rad_s2=np.stack(
            [machine.felt_inertia_n_per_rad_s2(q, float(load)) for load in loads]
        ),
        lags=(),
        repetitions=(),
        budget=_budget(machine, band, static.shape, place),
        model=model,
        angle_rms_u_rad=0.0,
        health=ProfileHealth(0.0, 0, 0.0, 0, float("nan")),
        warnings=(),
        handle_path_m=travel.path_m,
        friction_band=rubbing.band,
        scale=travel.scale,
        method=ProfileMethod.PREDICTION,
    )
    estimate = replace(estimate, warnings=placed(_facts(estimate, band), travel))
    return Prediction(machine, estimate, moment_arms(machine, q, loads, place.value), place)


def _budget(
    machine: Machine, band: ModelBand, shape: tuple[int, ...], gravity: Gravity
) -> tuple[BudgetItem, ...]:
    """One item a dimension, and gravity, the largest first."""
    items = [
        BudgetItem(
            BudgetSource.DIMENSION,
            band.shapes_n[:, k].reshape(shape),
            BudgetBasis.DEFAULT if parameter.u_is_default else BudgetBasis.MACHINE_FILE,
            stated=not parameter.u_is_default,
            figures={"dimension": parameter.key.dotted},
        )
        for k, parameter in enumerate(machine.parameters)
        if np.any(band.shapes_n[:, k])
    ]
    items.append(
        BudgetItem(BudgetSource.GRAVITY, band.gravity_n.reshape(shape), figures={"place": gravity.text})
    )
    return tuple(sorted(items, key=lambda item: -item.mean_square_n2))


def _model(
    machine: Machine, q: Floats, loads: Floats, g_m_s2: float, rubbing: PredictedFriction
) -> ForceModel:
    """Every term of the force; as offset and slope with the load where there are several, as a measurement has them."""
    differ = loads.size > 1
    ends = (0.0, 1.0) if differ else (float(loads[0]), float(loads[0]))

    def line(values: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
        return values[0], values[1] - values[0]

    terms = [machine.terms(q, load, g_m_s2) for load in ends]
    arm = terms[0].handle.travel
    static = line((machine.midway_force_n(q, ends[0], g_m_s2), machine.midway_force_n(q, ends[1], g_m_s2)))
    inertia = line((terms[0].inertia / arm, terms[1].inertia / arm))
    bend = line((0.5 * terms[0].inertia_1 / arm, 0.5 * terms[1].inertia_1 / arm))
    friction = np.nan_to_num(rubbing.friction_n)
    slope, offset = np.polyfit(loads, friction, 1) if differ else (np.zeros(q.size), friction[0])
    return ForceModel(
        static[0],
        static[1],
        offset,
        slope,
        inertia[0],
        inertia[1],
        bend[0],
        bend[1],
        0.0,
        loads_differ=differ,
    )


def _facts(estimate: ProfileEstimate, band: ModelBand) -> tuple[Fact, ...]:
    facts = [Fact(PredictionFact.NOT_MEASURED, Severity.NOTE)]
    if estimate.friction_band is None:
        facts.append(Fact(PredictionFact.NO_FRICTION))
    if not band.first_order:
        facts.append(Fact(PredictionFact.NOT_LINEAR, Severity.NOTE))
    total = max(sum(item.mean_square_n2 for item in estimate.budget), 1e-300)
    unstated = [item for item in estimate.budget if not item.stated and item.mean_square_n2 > MATTERS * total]
    if unstated:
        names = tuple(str(item.figures["dimension"]) for item in unstated)
        share = sum(item.mean_square_n2 for item in unstated) / total
        facts.append(Fact(PredictionFact.DEFAULT_UNCERTAINTIES, figures={"names": names, "share": share}))
    for k, load in enumerate(estimate.loads_kg):
        for begin, stop in runs_of_true(estimate.static_n[k] < 0.0):
            ends = {
                "low_rad": float(estimate.angle_rad[begin]),
                "high_rad": float(estimate.angle_rad[stop - 1]),
            }
            facts.append(Fact(PredictionFact.PUSHES_ALONG, figures={"load_kg": float(load), **ends}))
    return tuple(facts)
