"""The same machine with some dimensions changed."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.errors import GeometryError, MachineError
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Values
from feltload.calibration.machine.model_band import predict
from feltload.calibration.machine.parameters import Parameter, unit_symbol
from feltload.calibration.machine.reference import reference_of
from feltload.core import Floats
from feltload.signal import Travel, travel_of

MOST_VARIANTS: Final = 30
"""More curves in one figure cannot be distinguished."""


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
    """

    values: Values
    machine: Machine
    travel: Travel
    static_n: Floats


def predict_variants(
    machine: Machine, varied: Sequence[Varied], q_rad: Floats, loads_kg: Floats, g_m_s2: float
) -> tuple[Variant, ...]:
    """The force of every combination of values, the last dimension fastest.

    Raises
    ------
    MachineError
        There are too many, or a dimension cannot have a value.
    GeometryError
        A variant cannot be assembled over the travel; names it.
    """
    count = int(np.prod([len(each.values) for each in varied]))
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
    return tuple(
        _variant(machine, varied, combination, q_rad, loads_kg, g_m_s2)
        for combination in itertools.product(*(each.values for each in varied))
    )


def _variant(
    machine: Machine,
    varied: Sequence[Varied],
    combination: tuple[float, ...],
    q_rad: Floats,
    loads_kg: Floats,
    g_m_s2: float,
) -> Variant:
    values = {each.parameter.key: value for each, value in zip(varied, combination, strict=True)}
    changed = machine.with_parameters(values)
    try:
        static = predict(changed, q_rad, loads_kg, g_m_s2).reshape(loads_kg.size, q_rad.size)
    except GeometryError as error:
        said = ", ".join(
            f"{each.parameter.key.dotted} {_written(each.parameter, value)}"
            for each, value in zip(varied, combination, strict=True)
        )
        raise GeometryError(f"with {said}: {error.what}", where="--vary", remedy=error.remedy) from error
    reference = reference_of(changed)
    return Variant(values, changed, travel_of(reference, reference.start_angle_rad + q_rad), static)


def _written(parameter: Parameter, value: float) -> str:
    return f"{value / parameter.per_unit:g} {unit_symbol(parameter.unit)}".strip()
