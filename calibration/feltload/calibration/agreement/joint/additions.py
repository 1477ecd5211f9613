"""What a comparison would be with something more measured: a second load, brisk repetitions, a free swing."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from feltload.calibration.agreement.joint.own_inertia import inertia_thirds
from feltload.calibration.agreement.joint.setting import Setting
from feltload.calibration.agreement.joint.unseen import Addition, Design
from feltload.calibration.agreement.swing import Swing, swing_of
from feltload.calibration.errors import CalibrationError
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.model_band import predict
from feltload.core import Floats
from feltload.signal import FeltInertia

BRISK_U: Final = 0.004
"""Relative standard uncertainty of the felt inertia after brisk repetitions with ordinary sensors (emulated rigs)."""
SWING_U: Final = 0.003
"""The same of m g d / I after a dozen swings (emulated rigs)."""
_LIGHT_KG: Final = 20.0


def additional_designs(setting: Setting) -> dict[Addition, Design]:
    """Comparisons with everything that could be added here."""
    more = {
        Addition.SECOND_LOAD: _second_load(setting),
        Addition.BRISK_REPETITIONS: _brisk(setting),
        Addition.FREE_SWING: _free_swing(setting),
    }
    return {
        name: Design(s.noise(s.curves.loads_kg), s.joint.shapes(s.curves.loads_kg))
        for name, s in more.items()
        if s is not None
    }


def _second_load(setting: Setting) -> Setting | None:
    machine, curves, loads = setting.machine, setting.curves, setting.curves.loads_kg
    carries = any(isinstance(r, RidingMass) and r.is_load for r in machine.riders)
    if loads.size > 1 or not carries or loads[0] <= 0.0:
        return None
    both = np.array([loads[0], 0.5 * loads[0] if loads[0] > _LIGHT_KG else 2.0 * loads[0]])
    other = predict(machine, curves.q_rad, both[1:], setting.gravity.value)
    twice = replace(
        curves,
        loads_kg=both,
        force_n=np.concatenate([curves.force_n, other]),
        covariance_n2=np.asarray(np.kron(np.eye(2), curves.covariance_n2), dtype=float),
        mass_n2=np.asarray(np.kron(np.eye(2), curves.mass_n2), dtype=float),
    )
    inertia = setting.inertia
    if inertia is not None:
        ratio = _thirds(setting, both[1:]) / _thirds(setting, both[:1])
        values = np.vstack([inertia.value_n_per_rad_s2, inertia.value_n_per_rad_s2 * ratio])
        scale = np.concatenate([np.ones(ratio.size), ratio])
        inertia = FeltInertia(
            values, np.asarray(np.kron(np.eye(2), inertia.covariance) * np.outer(scale, scale), dtype=float)
        )
    return replace(setting, curves=twice, inertia=inertia)


def _brisk(setting: Setting) -> Setting | None:
    loads = setting.curves.loads_kg
    value = _thirds(setting, loads)
    if setting.inertia is not None:
        known = np.sqrt(np.diag(setting.inertia.covariance)) / np.abs(
            setting.inertia.value_n_per_rad_s2.ravel()
        )
        if float(np.max(known)) < 2.0 * BRISK_U:
            return None
    inertia = FeltInertia(value.reshape(loads.size, -1), np.diag((BRISK_U * value) ** 2))
    return replace(setting, inertia=inertia)


def _free_swing(setting: Setting) -> Setting | None:
    parts = [r for r in setting.machine.riders if isinstance(r, RidingMass) and not r.is_load]
    if setting.swing is not None or setting.machine.mechanism.sliding or not parts:
        return None
    if any(part.gyration_radius is None for part in parts):
        return None
    try:
        value = swing_of(setting.machine, setting.gravity.value)
    except CalibrationError:
        return None
    swing = Swing(value, SWING_U * value, 0.0, 0.1, 12)
    return replace(setting, swing=swing)


def _thirds(setting: Setting, loads_kg: Floats) -> Floats:
    machine = setting.machine
    return inertia_thirds(machine, machine.values, setting.curves.tested_q_rad, loads_kg)
