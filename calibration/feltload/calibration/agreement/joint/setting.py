"""One comparison: what was measured, the machine it is compared with, and how a difference is weighed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from feltload.calibration.agreement.contrasts import MODEL_FORM, Contrasts
from feltload.calibration.agreement.curves import MeasuredCurves
from feltload.calibration.agreement.joint.observations import Change, Joint
from feltload.calibration.agreement.joint.tilt import MeasuredTilt
from feltload.calibration.agreement.loads import PLATE_PAIR_KG
from feltload.calibration.agreement.swing import Swing
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.model_band import ModelBand
from feltload.calibration.weights.gravity import Gravity
from feltload.core import Floats
from feltload.signal import FeltInertia


@dataclass(frozen=True)
class Setting:
    """Machine and measurement of one comparison.

    Attributes
    ----------
    machine : Machine
    curves : MeasuredCurves
    gravity : Gravity
    band : ModelBand
        Of the whole force curves.
    inertia : FeltInertia, optional
    tilt : MeasuredTilt, optional
    swing : Swing, optional
    """

    machine: Machine
    curves: MeasuredCurves
    gravity: Gravity
    band: ModelBand
    inertia: FeltInertia | None = None
    tilt: MeasuredTilt | None = None
    swing: Swing | None = None

    @cached_property
    def joint(self) -> Joint:
        """Every observation."""
        return Joint(
            self.machine,
            self.curves,
            self.gravity,
            inertia=self.inertia,
            tilt=self.tilt,
            swing=self.swing,
        )

    @cached_property
    def predicted(self) -> Floats:
        """What the machine file predicts for every observation, (k,)."""
        return self.joint.predict(self.joint.stated)

    @cached_property
    def per_kg(self) -> Floats:
        """Change of the prediction with each load, (k, m)."""
        loads = self.curves.loads_kg
        heavier = [self.joint.predict(Change({}, loads + row)) - self.predicted for row in np.eye(loads.size)]
        return np.column_stack(heavier)

    def noise(self, loads_kg: Floats) -> Floats:
        """Covariance of everything that is no dimension of the file, at other loads, (k, k)."""
        gravity = self.joint.gravity_shape(loads_kg)
        return self.joint.noise + np.outer(gravity, gravity)

    def contrasts(self, loads_kg: Floats, seed: int) -> Contrasts:
        """Tests of the difference, its model's band that of other loads."""
        shapes, noise = self.joint.shapes(loads_kg), self.noise(loads_kg)
        covariance = noise + shapes @ shapes.T
        if not self.band.first_order:
            tested = self.curves.tested
            wider = np.ones(covariance.shape[0])
            wider[: tested.size] = self._beyond_first_order(tested)
            covariance = noise + (shapes @ shapes.T) * np.outer(wider, wider)
        return Contrasts(
            self.joint.measured - self.predicted,
            covariance,
            np.hstack([shapes, PLATE_PAIR_KG * self.per_kg]),
            self.curves.peak_n,
            seed=seed,
        )

    def _beyond_first_order(self, tested: NDArray[np.intp]) -> Floats:
        """How much wider the simulated band is than that of first order, at least 1."""
        drawn = np.diag(self.band.covariance_n2)[tested] - self.band.gravity_n[tested] ** 2
        first = np.sum(self.band.shapes_n[tested] ** 2, axis=1)
        return np.asarray(np.sqrt(np.maximum(drawn / np.maximum(first, 1e-12), 1.0)))

    @property
    def own_covariance(self) -> Floats:
        """Of the observations at given dimensions, with what no machine is trusted below, (k, k)."""
        noise = self.noise(self.curves.loads_kg)
        return noise + (MODEL_FORM * self.curves.peak_n) ** 2 * np.eye(noise.shape[0])
