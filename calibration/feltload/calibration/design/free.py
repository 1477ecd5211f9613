"""Dimensions that a design may change: within which bounds, and in which steps they can be built."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.errors import DesignError
from feltload.calibration.machine.parameters import Parameter
from feltload.core import Floats

_STEPS: Final = {
    "mm": 1.0,
    "cm": 0.1,
    "m": 0.001,
    "in": 1.0 / 16.0,
    "deg": 0.5,
    "°": 0.5,
    "degree": 0.5,
    "degrees": 0.5,
    "kg": 0.1,
    "lb": 0.25,
    "N/m": 10.0,
    "N/mm": 0.01,
}
"""Steps in which parts are drawn and made, by unit (common practice, no source)."""
_SLACK: Final = 1e-9


@dataclass(frozen=True)
class FreeDimension:
    """A dimension that may move.

    Attributes
    ----------
    parameter : Parameter
        As it is today.
    low, high : float
        Bounds, SI.
    step : float
        Step in which it can be built, SI.
    from_low : bool
        Whether steps count from `low`, as a row of holes does; from zero otherwise.
    """

    parameter: Parameter
    low: float
    high: float
    step: float
    from_low: bool = False

    @property
    def span(self) -> float:
        """Width of the bounds, SI."""
        return self.high - self.low

    @property
    def today(self) -> float:
        """Where it is today as a part of the bounds; below 0 or above 1 outside them."""
        return (self.parameter.value - self.low) / self.span

    @property
    def must_move(self) -> bool:
        """Whether today's value lies outside the bounds."""
        return not -_SLACK <= self.today <= 1.0 + _SLACK

    def value(self, part: float) -> float:
        """SI value at a part of the bounds."""
        return self.low + part * self.span

    def buildable(self, value: float) -> Floats:
        """The values nearest to `value` (SI) that can be built within the bounds, one below and one above.

        Raises
        ------
        DesignError
            None can.
        """
        origin = self.low if self.from_low else 0.0
        count = (value - origin) / self.step
        near = origin + self.step * np.unique([math.floor(count + _SLACK), math.ceil(count - _SLACK)])
        inside = near[(near >= self.low - _SLACK) & (near <= self.high + _SLACK)]
        return inside if inside.size else np.array([min(max(value, self.low), self.high)])


def free_dimension(parameter: Parameter, low: float, high: float, step: float | None = None) -> FreeDimension:
    """A dimension with bounds (SI); without a step, one of its unit's usual ones.

    Raises
    ------
    DesignError
        The bounds contradict one another or what such a dimension can be, or the step is none.
    """
    name, unit = parameter.key.dotted, parameter.unit
    where = f"--move {name}"

    def said(value: float) -> str:
        return f"{value / parameter.per_unit:g} {unit}".strip()

    if not low < high:
        raise DesignError(
            f"its bounds {said(low)} to {said(high)} leave it no room",
            where=where,
            remedy="give the lower bound first and a higher one after it, or leave the dimension out",
        )
    for bound in (low, high):
        if not parameter.limits.allow(bound):
            raise DesignError(
                f"{said(bound)} cannot be: {parameter.limits.reason}",
                where=where,
                remedy="check number and unit",
            )
    if step is not None and not 0.0 < step <= high - low:
        raise DesignError(
            f"a step of {said(step)} does not fit between {said(low)} and {said(high)}",
            where=where,
            remedy="give the distance of two neighbouring holes",
        )
    usual = _STEPS.get(unit, 0.01) * parameter.per_unit
    return FreeDimension(parameter, low, high, step or min(usual, high - low), step is not None)


def require_distinct(free: Sequence[FreeDimension]) -> None:
    """Refuse a design without a free dimension, or with one named twice.

    Raises
    ------
    DesignError
    """
    names = [each.parameter.key.dotted for each in free]
    for name in names:
        if names.count(name) > 1:
            raise DesignError("is given twice", where=f"--move {name}", remedy="give each dimension once")
    if not names:
        raise DesignError(
            "no dimension may move",
            where="--move",
            remedy='name one with its bounds: --move "plates.radius=200:320"',
        )
