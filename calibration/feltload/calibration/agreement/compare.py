"""Comparison of a measured profile with the surveyed machine: everything measured at once, and one verdict over it.

Measurement and model are compared at the rotation q from the start stop; what both take from the machine file (its
start angle) is counted once, on the model's side. E_n is that of ISO/IEC 17043 and ISO 13528.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from feltload.calibration.agreement.contrasts import ContrastTest
from feltload.calibration.agreement.curves import MeasuredCurves
from feltload.calibration.agreement.explanation import CauseKind, CurvePoint, Explanation, explain
from feltload.calibration.agreement.explanations.found import Found, find_causes
from feltload.calibration.agreement.explanations.sensor_place import start_hint
from feltload.calibration.agreement.joint.additions import additional_designs
from feltload.calibration.agreement.joint.observations import Change
from feltload.calibration.agreement.joint.setting import Setting
from feltload.calibration.agreement.joint.tilt import measured_tilt, with_tilt
from feltload.calibration.agreement.joint.unseen import Design, Unseen, unseen
from feltload.calibration.agreement.result import Agreement
from feltload.calibration.agreement.survey_fit import SurveyFit, fit_survey
from feltload.calibration.agreement.swing import Swing
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.model_band import model_band, predict
from feltload.calibration.weights.gravity import Gravity, local_gravity
from feltload.core import Floats
from feltload.signal import BudgetSource, ProfileEstimate

TRIALS: Final = 1000
"""Simulated surveys that confirm the model's band."""


def check_agreement(
    estimate: ProfileEstimate,
    machine: Machine,
    *,
    gravity: Gravity | None = None,
    swing: Swing | None = None,
    seed: int = 1,
    trials: int = TRIALS,
    complete: bool = True,
) -> Agreement:
    """Compare a measured profile, and what was measured on the way, with the surveyed machine.

    Parameters
    ----------
    estimate : ProfileEstimate
        Measured profile, one or more loads.
    machine : Machine
        The survey. A tilt of the hinge that it does not state is taken from the measurement.
    gravity : Gravity, optional
        Local gravity with its uncertainty; a value for an unknown place when left out.
    swing : Swing, optional
        Free swing of the unloaded arm.
    seed : int
        Of the simulations.
    trials : int
        Simulated surveys that confirm the model's band.
    complete : bool
        Fit all dimensions, and work out what could not have been seen, where nothing differs too.

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
    tilt = measured_tilt(estimate, machine)
    machine = with_tilt(machine, tilt)
    q, loads, force = curves.q_rad, curves.loads_kg, curves.force_n
    band = model_band(machine, q, loads, g.value, g.u, trials=trials, seed=seed)
    whole = q.size == estimate.angle_rad.size
    setting = Setting(machine, curves, g, band, estimate.felt_inertia if whole else None, tilt, swing)
    test = setting.contrasts(loads, seed).test()
    hint = start_hint(estimate, machine)
    found = Found.nothing(setting.joint.stated)
    if test.differs:
        hinted = None if hint is None else hint.slip
        found = find_causes(setting, seed, gain=_gain(estimate), hinted=hinted)
    # A fit without a cause would bend the machine into what it cannot be.
    wanted = bool(found.sets) if test.differs else complete
    fit = _fit(setting, found) if wanted else SurveyFit((), np.zeros((0, 0)))
    changed = machine.with_parameters(fit.values)
    after = found.change.gain * predict(changed, q, found.change.loads_kg, g.value)

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
        beside=setting.joint.beside(setting.predicted),
        tilt=tilt,
        start_hint=hint,
        unseen=() if test.differs or not complete else _unseen(setting, test),
    )


def _gain(estimate: ProfileEstimate) -> tuple[float, bool]:
    """Relative standard uncertainty of the cell's gain, and whether somebody stated it."""
    for item in estimate.budget:
        if item.source is BudgetSource.FORCE_GAIN:
            static = np.nan_to_num(estimate.static_n.ravel())
            curve = np.nan_to_num(item.curve_n.ravel())
            return abs(float(static @ curve)) / max(float(static @ static), 1e-12), item.stated
    return 0.0, True


def _unseen(setting: Setting, test: ContrastTest) -> tuple[Unseen, ...]:
    now = Design(setting.noise(setting.curves.loads_kg), setting.joint.shapes(setting.curves.loads_kg))
    return unseen(setting.machine.parameters, test.critical, now, additional_designs(setting))


def _most_left(load_kg: Floats, angle_rad: Floats, left_n: Floats, u_n: Floats) -> CurvePoint:
    """Where most is left for the measurement's uncertainty."""
    at = int(np.argmax(np.abs(left_n) / np.maximum(u_n, 1e-9)))
    return CurvePoint(float(load_kg[at]), float(angle_rad[at]), float(left_n[at]))


def _fit(setting: Setting, found: Found) -> SurveyFit:
    """All dimensions fitted to all observations; those of the best set free, or where its one cause puts them."""
    change = found.change
    one_by_one = bool(found.sets) and found.sets[0].kind in (CauseKind.DIMENSIONS, CauseKind.LOAD)
    return fit_survey(
        lambda values: setting.joint.predict(
            Change({**change.values, **values}, change.loads_kg, change.gain)
        ),
        setting.joint.measured,
        setting.own_covariance,
        [p for p in setting.machine.parameters if p.u > 0.0],
        found.sets[0].dimensions if one_by_one else (),
        change.values,
    )
