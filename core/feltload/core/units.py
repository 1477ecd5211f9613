"""Units of measurement: whether a word is one, what it measures, and its value in SI.

The units of nearly every file stand in a table here, since the registry that knows all others takes longer to load
than a profile takes to compute. Their values are exact by definition: inch, foot and pound by the international yard
and pound agreement (1959), kilogram-force by the 3rd CGPM (1901).
"""

from __future__ import annotations

import functools
import math
from typing import TYPE_CHECKING, Final, Literal

from feltload.core.constants import POUND_KG, STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    import pint

Dimension = Literal[
    "length",
    "mass",
    "angle",
    "force",
    "stiffness",
    "time",
    "moment",
    "dimensionless",
    "temperature",
    "linear-density",
    "inertia",
    "acceleration",
    "pressure",
    "frequency",
]

_SI: Final[dict[str, str]] = {
    "length": "meter",
    "mass": "kilogram",
    "angle": "radian",
    "force": "newton",
    "stiffness": "newton / meter",
    "time": "second",
    "moment": "newton * meter",
    "dimensionless": "dimensionless",
    "temperature": "kelvin",
    "linear-density": "kilogram / meter",
    "inertia": "kilogram * meter ** 2",
    "acceleration": "meter / second ** 2",
    "pressure": "pascal",
    "frequency": "hertz",
}

_INCH_M: Final = 0.0254

USUAL: Final[dict[str, tuple[Dimension, float]]] = {
    "m": ("length", 1.0),
    "cm": ("length", 0.01),
    "mm": ("length", 0.001),
    "in": ("length", _INCH_M),
    "ft": ("length", 12.0 * _INCH_M),
    "kg": ("mass", 1.0),
    "g": ("mass", 0.001),
    "lb": ("mass", POUND_KG),
    "rad": ("angle", 1.0),
    "deg": ("angle", math.pi / 180.0),
    "N": ("force", 1.0),
    "kN": ("force", 1000.0),
    "kgf": ("force", STANDARD_GRAVITY_M_S2),
    "lbf": ("force", POUND_KG * STANDARD_GRAVITY_M_S2),
    "N/m": ("stiffness", 1.0),
    "N/mm": ("stiffness", 1000.0),
    "s": ("time", 1.0),
    "ms": ("time", 0.001),
    "min": ("time", 60.0),
    "N*m": ("moment", 1.0),
    "%": ("dimensionless", 0.01),
    "K": ("temperature", 1.0),
    "kg/m": ("linear-density", 1.0),
    "kg*m^2": ("inertia", 1.0),
    "m/s^2": ("acceleration", 1.0),
    "Pa": ("pressure", 1.0),
    "hPa": ("pressure", 100.0),
    "Hz": ("frequency", 1.0),
}
"""Unit as it is written -> what it measures, and its value in SI."""


def is_unit(unit: str) -> bool:
    """Whether a word is a unit of anything."""
    if unit in USUAL:
        return True
    try:
        _registry().Unit(unit)
    except Exception:  # the registry raises a wide family, tokenizer errors among them
        return False
    return True


def measures(unit: str, dimension: Dimension) -> bool:
    """Whether a known unit is one of `dimension`."""
    if unit in USUAL:
        return USUAL[unit][0] == dimension
    parsed = _registry().Unit(unit)
    if parsed.dimensionless:
        # The registry counts angles and plain numbers as the same dimension.
        is_angle = "radian" in str(_registry().get_root_units(unit)[1])
        return dimension == ("angle" if is_angle else "dimensionless")
    return bool(parsed.is_compatible_with(_SI[dimension]))


def to_si(value: float, unit: str, dimension: Dimension) -> float:
    """`value` in the SI unit of `dimension`; no unit is that of a plain number."""
    if not unit:
        return value
    if unit in USUAL:
        return value * USUAL[unit][1]
    return float(_registry().Quantity(value, unit).to(_SI[dimension]).magnitude)


def si_per_unit(unit: str, dimension: Dimension) -> float:
    """SI value of one `unit` of `dimension` (differences only; no temperature offset)."""
    zero = to_si(0.0, unit, dimension) if dimension == "temperature" else 0.0
    return to_si(1.0, unit, dimension) - zero


@functools.cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
