"""Uncertainty of a predicted curve: first order (GUM), checked by Monte Carlo (JCGM 101:2008).

Clause 8 of JCGM 101 compares the ends of the 95 % intervals of both ways; where they part by more than a
tolerance the survey is too uncertain for first order, and the Monte Carlo covariance is taken instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Values
from feltload.core import NORMAL_COVERAGE_95, Floats

_TRIALS: Final = 1000
_TOLERANCE: Final = 0.05  # of the largest half-width: half a unit of its second digit, and the sampling noise


@dataclass(frozen=True)
class ModelBand:
    """Predicted force of all loads and angles, flattened (k,), with its uncertainty.

    Attributes
    ----------
    force_n : ndarray, shape (k,)
        Midway between slow raising and lowering.
    shapes_n : ndarray, shape (k, p)
        Change per standard uncertainty of each dimension.
    gravity_n : ndarray, shape (k,)
        Change per standard uncertainty of gravity.
    covariance_n2 : ndarray, shape (k, k)
        Of the dimensions and gravity together.
    first_order : bool
        Whether Monte Carlo confirmed the first order.
    worst_gap : float
        Largest distance between the interval ends of both ways, as part of the largest half-width.
    """

    force_n: Floats
    shapes_n: Floats
    gravity_n: Floats
    covariance_n2: Floats
    first_order: bool
    worst_gap: float


def predict(
    machine: Machine,
    q_rad: Floats,
    loads_kg: Floats,
    g_m_s2: float,
    changed: Values | None = None,
) -> Floats:
    """Predicted static force, loads one after the other, shape (m * n,); `changed` dimensions in SI."""
    return np.concatenate(machine.midway_forces_n(q_rad, loads_kg.tolist(), g_m_s2, changed=changed))


def shapes_of(machine: Machine, q_rad: Floats, loads_kg: Floats, g_m_s2: float) -> Floats:
    """Change of the prediction per standard uncertainty of each dimension, shape (m * n, p)."""
    columns = []
    for parameter in machine.parameters:
        step = 0.05 * parameter.u
        if step <= 0.0:
            columns.append(np.zeros(q_rad.size * loads_kg.size))
            continue
        ends = [
            predict(machine, q_rad, loads_kg, g_m_s2, {parameter.key: parameter.value + s})
            for s in (step, -step)
        ]
        columns.append((ends[0] - ends[1]) / 0.1)
    return np.column_stack(columns)


def gravity_shape(
    machine: Machine, q_rad: Floats, loads_kg: Floats, g_m_s2: float, u_g_m_s2: float
) -> Floats:
    """Change of the prediction per standard uncertainty of gravity, shape (m * n,)."""
    force = predict(machine, q_rad, loads_kg, g_m_s2)
    if u_g_m_s2 <= 0.0:
        return np.zeros_like(force)
    return predict(machine, q_rad, loads_kg, g_m_s2 + u_g_m_s2) - force


def model_band(
    machine: Machine,
    q_rad: Floats,
    loads_kg: Floats,
    g_m_s2: float,
    u_g_m_s2: float,
    *,
    trials: int = _TRIALS,
    seed: int = 1,
) -> ModelBand:
    """Predicted force and its uncertainty at rotations `q_rad` (n,) and `loads_kg` (m,)."""
    force = predict(machine, q_rad, loads_kg, g_m_s2)
    shapes = shapes_of(machine, q_rad, loads_kg, g_m_s2)
    gravity = gravity_shape(machine, q_rad, loads_kg, g_m_s2, u_g_m_s2)
    covariance = shapes @ shapes.T + np.outer(gravity, gravity)
    half = NORMAL_COVERAGE_95 * np.sqrt(np.diag(covariance))
    drawn = _draw(machine, q_rad, loads_kg, g_m_s2, trials, seed) + (
        np.random.default_rng(seed + 1).standard_normal(trials)[:, None] * gravity
    )
    drawn = drawn[np.isfinite(drawn).all(axis=1)]
    if drawn.shape[0] < trials // 2:
        raise GeometryError(
            "within the survey's uncertainty the machine often cannot be assembled",
            where=machine.name,
            remedy="measure its lengths better, or keep its travel away from the toggle position",
        )
    low, high = np.quantile(drawn, [0.025, 0.975], axis=0)
    gap = np.maximum(np.abs(low - (force - half)), np.abs(high - (force + half)))
    # Ends of a sampled interval wander by some 2.6 standard errors over a whole curve.
    noise = 2.6 * half / NORMAL_COVERAGE_95 * np.sqrt(0.025 * 0.975 / drawn.shape[0]) / 0.0584
    worst = float(np.max(gap - noise, initial=0.0) / max(float(half.max()), 1e-12))
    first_order = worst <= _TOLERANCE
    if not first_order:
        covariance = np.cov(drawn, rowvar=False)
    return ModelBand(force, shapes, gravity, covariance, first_order, max(worst, 0.0))


def _draw(machine: Machine, q_rad: Floats, loads_kg: Floats, g_m_s2: float, trials: int, seed: int) -> Floats:
    """Predictions of drawn machines (trials, k); NaN where one cannot be assembled."""
    rng = np.random.default_rng(seed)
    centre = np.array([p.value for p in machine.parameters])
    u = np.array([p.u for p in machine.parameters])
    keys = [p.key for p in machine.parameters]
    values = dict(zip(keys, (centre + u * rng.standard_normal((trials, centre.size))).T, strict=True))
    drawn = machine.midway_forces_of_many_n(q_rad, loads_kg.tolist(), g_m_s2, values)
    return drawn.reshape(trials, -1)
