"""Surveyed dimensions as people say and write them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from feltload.calibration import FittedDimension, Machine, Parameter, ParameterKey, unit_symbol
from feltload.core import format_quantity

_CHANGES: Final[dict[str, tuple[str, str]]] = {
    "radius": ("{size} further out", "{size} further in"),
    "angle": ("{size} further round (ccw)", "{size} further back (cw)"),
    "mass": ("{size} heavier", "{size} lighter"),
}
"""How a change of each kind of dimension is said, (larger, smaller) than surveyed."""


def dimension_name(key: ParameterKey) -> str:
    """``plates radius``."""
    return f"{key.part} {key.dimension}".strip().replace("_", " ")


def dimension_names(keys: Iterable[ParameterKey], between: str) -> str:
    """Several names with words between them."""
    return between.join(dimension_name(key) for key in keys)


def dimension_value(parameter: Parameter, value: float | None = None, u: float | None = None) -> str:
    """``270.0(3.0) mm``: value and uncertainty (the surveyed ones unless given, SI) in the person's unit."""
    value = parameter.value if value is None else value
    u = parameter.u if u is None else u
    return in_unit(
        format_quantity(value / parameter.per_unit, u / parameter.per_unit, unit_symbol(parameter.unit))
    )


def in_unit(text: str) -> str:
    """A degree sign stands close to its number, and no unit leaves no gap."""
    return text.strip().replace(" °", "°")


def dimension_rows(machine: Machine) -> list[str]:
    """Every dimension of a machine with its value, one a line, but for those that are nothing at all."""
    return [f"{dimension_name(p.key)}  {dimension_value(p)}" for p in machine.parameters if p.value or p.u]


def change_in_words(dimension: FittedDimension) -> str:
    """``plates radius is 15 mm further out than surveyed (285.1(1.9) mm, not 270.0(3.0) mm; ...)``."""
    surveyed = dimension.surveyed
    size = in_unit(f"{abs(dimension.shift) / surveyed.per_unit:.2g} {unit_symbol(surveyed.unit)}")
    larger, smaller = _CHANGES.get(dimension.key.dimension, ("{size} larger", "{size} smaller"))
    change = (larger if dimension.shift >= 0 else smaller).format(size=size)
    return (
        f"{dimension_name(dimension.key)} is {change} than surveyed "
        f"({dimension_value(surveyed, dimension.value, dimension.u)}, not {dimension_value(surveyed)}; "
        f"{abs(dimension.shift_in_u):.1f} standard uncertainties)"
    )
