"""Loads that the machine seems to have had on it, where measurement and model do not fit the stated ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.agreement.contrasts import MODEL_FORM
from feltload.calibration.agreement.curves import MeasuredCurves
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.model_band import gravity_shape, predict, shapes_of
from feltload.calibration.weights.gravity import Gravity
from feltload.core import NORMAL_COVERAGE_95, Floats

PLATE_PAIR_KG: Final = 2.5
"""A pair of the smallest common plates, the unit in which a load is wrong (common practice, no source)."""
LEAST_WRONG_KG: Final = 2.0
"""A smaller difference is less than a pair of the smallest common plates (2.5 kg; 2.27 kg where they are 5 lb
together): it is a matter of weighing, not of another load."""


@dataclass(frozen=True)
class FittedLoad:
    """A load as it was stated, and as the measured force has it by the machine file.

    Attributes
    ----------
    stated_kg : float
    value_kg, u_kg : float
        As the force has it, and its standard uncertainty.
    """

    stated_kg: float
    value_kg: float
    u_kg: float

    @property
    def u95_kg(self) -> float:
        """Half-width of the 95 % band."""
        return NORMAL_COVERAGE_95 * self.u_kg


class LoadColumns:
    """How the predicted curves change with the load of each recording.

    Parameters
    ----------
    machine : Machine
    curves : MeasuredCurves
    gravity : Gravity
    """

    def __init__(self, machine: Machine, curves: MeasuredCurves, gravity: Gravity) -> None:
        self._machine, self._curves, self._gravity = machine, curves, gravity
        q, loads = curves.q_rad, curves.loads_kg
        stated = predict(machine, q, loads, gravity.value)
        heavier = predict(machine, q, loads + 1.0, gravity.value)
        self._stated_n = stated
        self.per_kg_n = np.kron(np.eye(loads.size), np.ones((q.size, 1))) * (heavier - stated)[:, None]

    def apparent_kg(self) -> Floats:
        """The load of each recording by itself, no less than stated, shape (m,): sizes the model's band."""
        steepness = np.einsum("ij,ij->j", self.per_kg_n, self.per_kg_n)
        difference = self.per_kg_n.T @ (self._curves.force_n - self._stated_n)
        shift = np.divide(difference, steepness, out=np.zeros_like(steepness), where=steepness > 0.0)
        return np.asarray(self._curves.loads_kg + np.maximum(shift, 0.0))

    def model_covariance_n2(self, loads_kg: Floats) -> tuple[Floats, Floats]:
        """Covariance of the prediction at other loads (k, k), and its change with each dimension (k, p)."""
        shapes = shapes_of(self._machine, self._curves.q_rad, loads_kg, self._gravity.value)
        gravity = gravity_shape(
            self._machine, self._curves.q_rad, loads_kg, self._gravity.value, self._gravity.u
        )
        return shapes @ shapes.T + np.outer(gravity, gravity), shapes

    def fitted(self, wrong: Sequence[int], covariance_n2: Floats, moved_n: Floats) -> tuple[FittedLoad, ...]:
        """Loads of the recordings `wrong`, with dimensions whose shapes (k, d) are `moved_n` set free beside them."""
        if not wrong:
            return ()
        curves, tested = self._curves, self._curves.tested
        columns = np.column_stack([self.per_kg_n[:, list(wrong)], moved_n])[tested]
        own = covariance_n2[np.ix_(tested, tested)]
        weights = np.linalg.inv(own + np.eye(tested.size) * (MODEL_FORM * curves.peak_n) ** 2)
        solve = (
            np.linalg.pinv(columns.T @ weights @ columns, rcond=1e-9, hermitian=True) @ columns.T @ weights
        )
        shift = solve @ (curves.force_n - self._stated_n)[tested]
        # What was stated of the load says nothing about the one that was there.
        without = own - curves.mass_n2[np.ix_(tested, tested)]
        variance = np.einsum("ij,jk,ik->i", solve, without, solve)
        return tuple(
            FittedLoad(
                float(curves.loads_kg[k]),
                float(max(curves.loads_kg[k] + shift[i], 0.0)),
                float(np.sqrt(max(variance[i], 0.0))),
            )
            for i, k in enumerate(wrong)
        )
