"""Friction of a machine that nobody has measured: from the losses in its file, or from a stated range."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import Parameter
from feltload.core import NORMAL_COVERAGE_95, Floats
from feltload.signal import FrictionBand

_NO_LOSS: Final = 1e-9


@dataclass(frozen=True)
class FrictionRange:
    """Friction as somebody expects it: half the gap between slow raising and lowering lies in this range.

    Attributes
    ----------
    low, high : float
        Newtons, or parts of the force at rest.
    relative : bool
        Whether they are parts.
    """

    low: float
    high: float
    relative: bool = False

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.high:
            raise MachineError("a range of friction begins at zero or above, and rises", where="friction")


@dataclass(frozen=True)
class PredictedFriction:
    """Friction of m loads at n positions, each (m, n), and its band; NaN and None where nothing is known."""

    friction_n: Floats
    band: FrictionBand | None


def predicted_friction(
    machine: Machine,
    q_rad: Floats,
    loads_kg: Floats,
    g_m_s2: float,
    static_n: Floats,
    stated: FrictionRange | None,
) -> PredictedFriction:
    """Half the gap between slow raising and lowering.

    Parameters
    ----------
    machine : Machine
    q_rad : ndarray, shape (n,)
    loads_kg : ndarray, shape (m,)
    g_m_s2 : float
    static_n : ndarray, shape (m, n)
        Force midway, which a relative range is a part of.
    stated : FrictionRange, optional
        Where the machine file states no losses.

    Raises
    ------
    MachineError
        Both the file and somebody state it.
    """
    friction = _losses(machine, q_rad, loads_kg, g_m_s2)
    lossy = bool(np.max(np.abs(friction)) > _NO_LOSS)
    if lossy and stated is not None:
        raise MachineError(
            "its file states losses, so a range of friction would count them twice",
            where=machine.name,
            remedy="leave the range out, or take efficiencies and friction out of the machine file",
        )
    if lossy:
        shapes = [
            _slope(machine, parameter, q_rad, loads_kg, g_m_s2)
            for parameter in machine.parameters
            if parameter.u > 0.0
        ]
        covariance = sum((np.outer(shape, shape) for shape in shapes), np.zeros((friction.size,) * 2))
        u95 = NORMAL_COVERAGE_95 * np.sqrt(np.diag(covariance)).reshape(friction.shape)
        return PredictedFriction(friction, FrictionBand(covariance, u95))
    if stated is None:
        return PredictedFriction(np.full_like(static_n, np.nan), None)
    of = np.abs(static_n) if stated.relative else np.ones_like(static_n)
    stands = np.all(stated.low * of > np.abs(static_n), axis=1)
    if stands.any():
        heaviest = float(np.max(np.abs(static_n[np.argmax(stands)])))
        raise MachineError(
            f"friction that is larger than the force itself, {heaviest:.0f} N at most: nothing would come down",
            where=machine.name,
            remedy="give half the gap between raising and lowering slowly",
        )
    half = 0.5 * (stated.high - stated.low) * of
    u = half.ravel() / NORMAL_COVERAGE_95
    # Where in the range it lies is the same all along: one machine is stiff, another runs freely.
    return PredictedFriction(0.5 * (stated.low + stated.high) * of, FrictionBand(np.outer(u, u), half))


def _losses(machine: Machine, q_rad: Floats, loads_kg: Floats, g_m_s2: float) -> Floats:
    up, down = (
        np.stack([machine.slow_force_n(q_rad, float(load), direction, g_m_s2) for load in loads_kg])
        for direction in (1, -1)
    )
    return np.asarray(0.5 * (up - down))


def _slope(machine: Machine, parameter: Parameter, q_rad: Floats, loads_kg: Floats, g_m_s2: float) -> Floats:
    step = 0.05 * parameter.u
    more, less = (
        _losses(machine.with_parameters({parameter.key: parameter.value + shift}), q_rad, loads_kg, g_m_s2)
        for shift in (step, -step)
    )
    return np.asarray((more - less).ravel() / 0.1)
