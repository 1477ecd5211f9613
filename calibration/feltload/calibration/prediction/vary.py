"""The same machine with some dimensions changed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.errors import GeometryError, MachineError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Values
from feltload.calibration.machine.model_band import gravity_shape, predict, shapes_of
from feltload.calibration.machine.parameters import Parameter, unit_symbol
from feltload.calibration.machine.reference import reference_of
from feltload.calibration.weights.gravity import Gravity
from feltload.core import NORMAL_COVERAGE_95, Flags, Floats, interpolation_weights
from feltload.signal import Travel, travel_of

MOST_VARIANTS: Final = 30
"""More curves in one figure cannot be distinguished."""
_DRAWS: Final = 1000
_NO_EFFECT: Final = 1e-9
"""Part of the force that a dimension must change it by."""


@dataclass(frozen=True)
class Varied:
    """One dimension and the values (SI) that it takes."""

    parameter: Parameter
    values: tuple[float, ...]


@dataclass(frozen=True)
class Variant:
    """A machine with some dimensions changed, and its force.

    Attributes
    ----------
    values : mapping
        Changed dimensions, SI.
    machine : Machine
    travel : Travel
    static_n : ndarray, shape (m, n)
        Midway between slow raising and lowering.
    static_u95_n : ndarray, shape (m, n)
        Half-width of its 95 % band at each position, to first order.
    difference_n : ndarray, shape (m, n)
        From the machine as its file has it, at the same part of the travel.
    difference_u95_n : ndarray, shape (m, n)
        Half-width of the 95 % band of the whole difference with one load. Errors of dimensions that both share cancel;
        what was varied is made once for each.
    """

    values: Values
    machine: Machine
    travel: Travel
    static_n: Floats
    static_u95_n: Floats
    difference_n: Floats
    difference_u95_n: Floats

    @property
    def differs(self) -> Flags:
        """Where it differs from the file's machine by more than the band of the difference, shape (m, n)."""
        return np.asarray(np.abs(self.difference_n) > self.difference_u95_n)


@dataclass(frozen=True)
class _Curve:
    """Force (m, n) and its changes by one standard uncertainty of each dimension and of gravity (m, n, p + 1)."""

    travel: Travel
    static_n: Floats
    shapes_n: Floats

    def at(self, shares: Floats) -> tuple[Floats, Floats]:
        """Force and changes at parts of the travel."""
        own = self.travel.shares(self.travel.angle_rad)
        weights = interpolation_weights(own, np.clip(shares, own[0], own[-1])).toarray()
        return self.static_n @ weights.T, np.einsum("kn,mnp->mkp", weights, self.shapes_n)


def predict_variants(
    machine: Machine, varied: Sequence[Varied], q_rad: Floats, loads_kg: Floats, gravity: Gravity
) -> tuple[Variant, ...]:
    """The force of every combination of values, the last dimension fastest.

    Raises
    ------
    MachineError
        There are too many, a dimension cannot have a value, or none of them matters.
    GeometryError
        A variant cannot be assembled over the travel; names it.
    """
    count = math.prod(len(each.values) for each in varied)
    if count > MOST_VARIANTS:
        raise MachineError(
            f"{count} combinations, and {MOST_VARIANTS} curves at most can be told apart",
            where="--vary",
            remedy="take larger steps, or vary fewer dimensions",
        )
    for each in varied:
        for value in each.values:
            if not each.parameter.limits.allow(value):
                raise MachineError(
                    f"{each.parameter.key.dotted} cannot be {_written(each.parameter, value)}: "
                    f"{each.parameter.limits.reason}",
                    where="--vary",
                    remedy="keep to values that can be built",
                )
    own = _curve(machine, q_rad, loads_kg, gravity)
    made = tuple(
        _variant(machine, own, varied, combination, q_rad, loads_kg, gravity)
        for combination in itertools.product(*(each.values for each in varied))
    )
    for place, each in enumerate(varied):
        if len(each.values) > 1:
            _require_effect(made, varied, place)
    return made


def _require_effect(made: Sequence[Variant], varied: Sequence[Varied], place: int) -> None:
    """Refuse a dimension that the force does not depend on."""
    sizes = [len(each.values) for each in varied]
    force = np.array([each.static_n for each in made]).reshape(*sizes, -1)
    if np.max(np.ptp(force, axis=place)) < _NO_EFFECT * max(float(np.max(np.abs(force))), 1.0):
        name = varied[place].parameter.key.dotted
        raise MachineError(
            f"the force to hold the handle still does not depend on {name}",
            where="--vary",
            remedy="vary a dimension that it depends on; feltload survey lists what each does",
        )


def _variant(
    machine: Machine,
    own: _Curve,
    varied: Sequence[Varied],
    combination: tuple[float, ...],
    q_rad: Floats,
    loads_kg: Floats,
    gravity: Gravity,
) -> Variant:
    values = {each.parameter.key: value for each, value in zip(varied, combination, strict=True)}
    changed = machine.with_parameters(values)
    try:
        curve = _curve(changed, q_rad, loads_kg, gravity)
    except GeometryError as error:
        said = ", ".join(
            f"{each.parameter.key.dotted} {_written(each.parameter, value)}"
            for each, value in zip(varied, combination, strict=True)
        )
        raise GeometryError(f"with {said}: {error.what}", where="--vary", remedy=error.remedy) from error
    force, shapes = own.at(curve.travel.shares(curve.travel.angle_rad))
    own_error = np.array([each.key in values for each in machine.parameters] + [False])
    # Made once for each, the varied dimension has an error of its own in each.
    apart = np.concatenate(
        [curve.shapes_n - np.where(own_error, 0.0, shapes), shapes[..., own_error]], axis=-1
    )
    return Variant(
        values,
        changed,
        curve.travel,
        curve.static_n,
        NORMAL_COVERAGE_95 * np.sqrt(np.sum(curve.shapes_n**2, axis=-1)),
        curve.static_n - force,
        np.stack([_whole_curve_u95(each) for each in apart]),
    )


def _curve(machine: Machine, q_rad: Floats, loads_kg: Floats, gravity: Gravity) -> _Curve:
    force = predict(machine, q_rad, loads_kg, gravity.value)
    place = gravity_shape(machine, q_rad, loads_kg, gravity.value, gravity.u)
    shapes = np.column_stack([shapes_of(machine, q_rad, loads_kg, gravity.value), place])
    reference = reference_of(machine)
    size = (loads_kg.size, q_rad.size)
    return _Curve(
        travel_of(reference, reference.start_angle_rad + q_rad),
        force.reshape(size),
        shapes.reshape(*size, -1),
    )


def _whole_curve_u95(shapes_n: Floats) -> Floats:
    """Half-width of the band that holds all of a curve of independent changes (n, p) with 95 %, shape (n,)."""
    u = np.sqrt(np.sum(shapes_n**2, axis=1))
    known = u > 1e-9 * max(float(u.max(initial=0.0)), 1e-12)
    if not known.any():
        return np.asarray(u)
    drawn = np.random.default_rng(1).standard_normal((_DRAWS, shapes_n.shape[1])) @ shapes_n[known].T
    return np.asarray(u * np.quantile(np.max(np.abs(drawn) / u[known], axis=1), 0.95))


def _written(parameter: Parameter, value: float) -> str:
    return f"{value / parameter.per_unit:g} {unit_symbol(parameter.unit)}".strip()
