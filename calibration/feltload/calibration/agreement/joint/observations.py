"""All observations of a comparison in one vector: the force curves first, then what was measured on the way.

What is no force is put on its scale: its own standard uncertainty counts as one percent of the largest force, so that
one floor below which shapes are not weighed does for all.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from feltload.calibration.agreement.curves import MeasuredCurves
from feltload.calibration.agreement.joint.own_inertia import FORM_SHARE, inertia_thirds, spread_columns
from feltload.calibration.agreement.joint.tilt import MeasuredTilt
from feltload.calibration.agreement.swing import Swing, swing_of
from feltload.calibration.errors import AgreementError, GeometryError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Values
from feltload.calibration.machine.model_band import predict
from feltload.calibration.machine.parameters import HINGE_INCLINATION
from feltload.calibration.weights.gravity import Gravity
from feltload.core import Floats
from feltload.signal import FeltInertia

PARTS: Final = 3

SCALE: Final = 0.01


class Observation(StrEnum):
    """Kinds of what was measured."""

    FORCE = "force"
    FELT_INERTIA = "felt-inertia"
    HINGE_TILT = "hinge-tilt"
    FREE_SWING = "free-swing"


@dataclass(frozen=True)
class Change:
    """A machine other than its file: dimensions in SI, loads of all recordings, and what the cell makes of a newton."""

    values: Values
    loads_kg: Floats
    gain: float = 1.0


@dataclass(frozen=True)
class _Beside:
    """One observation that is no force, with its scale to newtons."""

    kind: Observation
    measured: Floats
    covariance: Floats
    scale: Floats


@dataclass(frozen=True)
class BesideRow:
    """One thing measured on the way, and what the machine file has for it.

    Attributes
    ----------
    kind : Observation
    measured, u : float
        Felt inertia in N per rad/s², tilt in rad, free swing in 1/s²; with what no dimension accounts for.
    predicted : float
    load_kg : float or None
    third : int or None
        Of the travel, 0 to 2.
    """

    kind: Observation
    measured: float
    u: float
    predicted: float
    load_kg: float | None = None
    third: int | None = None


class Joint:
    """Measured values and what a machine predicts for them.

    Parameters
    ----------
    machine : Machine
    curves : MeasuredCurves
    gravity : Gravity
    inertia : FeltInertia, optional
    tilt : MeasuredTilt, optional
        Compared where the machine file states one.
    swing : Swing, optional
    """

    def __init__(
        self,
        machine: Machine,
        curves: MeasuredCurves,
        gravity: Gravity,
        *,
        inertia: FeltInertia | None = None,
        tilt: MeasuredTilt | None = None,
        swing: Swing | None = None,
    ) -> None:
        self._machine, self._curves, self._gravity = machine, curves, gravity
        self._q = curves.tested_q_rad
        beside = []
        if inertia is not None:
            beside.append(self._inertia(inertia))
        if tilt is not None and not tilt.taken and machine.parameter(HINGE_INCLINATION).declared:
            beside.append(self._single(Observation.HINGE_TILT, tilt.value_rad, tilt.u_rad))
        if swing is not None:
            # How a mass is spread is only known so well where a file states it.
            u = float(np.hypot(swing.u, FORM_SHARE * swing.moment_over_inertia))
            beside.append(self._single(Observation.FREE_SWING, swing.moment_over_inertia, u))
        self._beside = tuple(beside)

    @property
    def kinds(self) -> tuple[Observation, ...]:
        """Kind of every observation."""
        force = (Observation.FORCE,) * self._curves.tested.size
        return force + tuple(b.kind for b in self._beside for _ in range(b.measured.size))

    @property
    def measured(self) -> Floats:
        """Observations (k,): force of the tested angles, then the others on its scale."""
        force = self._curves.force_n[self._curves.tested]
        return np.concatenate([force, *(b.scale * b.measured for b in self._beside)])

    @property
    def noise(self) -> Floats:
        """Covariance of what is measured, and of what no dimension of the file accounts for, (k, k)."""
        tested = self._curves.tested
        blocks = [self._curves.covariance_n2[np.ix_(tested, tested)]]
        blocks += [b.covariance * np.outer(b.scale, b.scale) for b in self._beside]
        size = sum(block.shape[0] for block in blocks)
        out, at = np.zeros((size, size)), 0
        for block in blocks:
            part = slice(at, at + block.shape[0])
            out[part, part] = block
            at = part.stop
        return out

    def beside(self, predicted: Floats) -> tuple[BesideRow, ...]:
        """What was measured beside the force, against a prediction (k,)."""
        rows, at = [], self._curves.tested.size
        for beside in self._beside:
            for k, (measured, scale) in enumerate(zip(beside.measured, beside.scale, strict=True)):
                of_load = beside.kind is Observation.FELT_INERTIA
                rows.append(
                    BesideRow(
                        beside.kind,
                        float(measured),
                        float(np.sqrt(beside.covariance[k, k])),
                        float(predicted[at] / scale),
                        float(self._curves.loads_kg[k // PARTS]) if of_load else None,
                        k % PARTS if of_load else None,
                    )
                )
                at += 1
        return tuple(rows)

    @property
    def stated(self) -> Change:
        """The machine as its file and the recordings have it."""
        return Change({}, self._curves.loads_kg)

    def predict(self, change: Change, gravity_m_s2: float | None = None) -> Floats:
        """What a machine predicts for every observation, (k,).

        Raises
        ------
        GeometryError
            It cannot be assembled.
        """
        g = self._gravity.value if gravity_m_s2 is None else gravity_m_s2
        machine, loads = self._machine, change.loads_kg
        parts = [change.gain * predict(machine, self._q, loads, g, change.values)]
        values = {**machine.values, **change.values}
        for beside in self._beside:
            if beside.kind is Observation.FELT_INERTIA:
                value = change.gain * inertia_thirds(machine, values, self._q, loads)
            elif beside.kind is Observation.HINGE_TILT:
                value = np.array([abs(values[HINGE_INCLINATION])])
            else:
                value = np.array([self._swing(change.values, g)])
            parts.append(beside.scale * value)
        return np.concatenate(parts)

    def shapes(self, loads_kg: Floats) -> Floats:
        """Change of the prediction per standard uncertainty of each dimension, at other loads, (k, p)."""
        columns = []
        for p in self._machine.parameters:
            step = 0.05 * p.u
            if step <= 0.0:
                columns.append(np.zeros(self.measured.size))
                continue
            high, low = (self.predict(Change({p.key: p.value + s}, loads_kg)) for s in (step, -step))
            columns.append((high - low) / 0.1)
        return np.column_stack(columns)

    def gravity_shape(self, loads_kg: Floats) -> Floats:
        """Change of the prediction per standard uncertainty of gravity, (k,)."""
        change = Change({}, loads_kg)
        g = self._gravity
        return self.predict(change, g.value + g.u) - self.predict(change)

    def _swing(self, values: Values, g: float) -> float:
        try:
            return swing_of(self._machine.with_parameters(values), g)
        except AgreementError as error:
            raise GeometryError(error.what, where=error.where, remedy=error.remedy) from error

    def _inertia(self, inertia: FeltInertia) -> _Beside:
        loads = self._curves.loads_kg
        measured = inertia.value_n_per_rad_s2.ravel()
        spread = spread_columns(self._machine, self._q, loads)
        form = FORM_SHARE * measured
        covariance = inertia.covariance + spread @ spread.T + np.diag(form**2) + np.outer(form, form)
        return self._scaled(Observation.FELT_INERTIA, measured, covariance)

    def _single(self, kind: Observation, value: float, u: float) -> _Beside:
        return self._scaled(kind, np.array([value]), np.array([[u**2]]))

    def _scaled(self, kind: Observation, measured: Floats, covariance: Floats) -> _Beside:
        scale = SCALE * self._curves.peak_n / np.sqrt(np.diag(covariance))
        return _Beside(kind, measured, covariance, scale)
