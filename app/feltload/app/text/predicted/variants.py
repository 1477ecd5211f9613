"""Machines with other dimensions in words."""

from __future__ import annotations

from typing import Final

import numpy as np

from feltload.app.text.machine.dimensions import dimension_name, in_unit
from feltload.app.text.numbers import NO_BREAK, force_with_band, load_text, number, short_force
from feltload.app.text.predicted.bands import PROFILE_BAND
from feltload.calibration import ParameterKey, Variant, unit_symbol
from feltload.core import Floats

VARIED_CAPTION: Final = (
    "Above, the force to hold the handle still, predicted for each. Dashed in black: the machine as its file has it; "
    f"shaded around it: {PROFILE_BAND}. Below, the difference from it at the same part of the travel, strong where it "
    "is beyond its 95 % band. In that band errors that both share cancel, and what is varied is made once for each: "
    "within it, building it so changes less than building it twice. Numbers: see the table."
)


def describe_variant(variant: Variant, loads_kg: Floats) -> str:
    """What one variant does at the heaviest load."""
    top = int(np.argmax(loads_kg))
    force = variant.static_n[top]
    half_n = float(np.mean(variant.static_u95_n[top]))
    return (
        f"{variant_name(variant)}, {load_text(float(loads_kg[top]))}: {short_force(float(force[0]))} at the start, at "
        f"most {short_force(float(np.max(force)))}, {short_force(float(force[-1]))} at the end, "
        f"{NO_BREAK.join(('±', short_force(half_n)))} on average; {variant_difference(variant, top)}"
    )


def variant_difference(variant: Variant, load_index: int) -> str:
    """Largest difference from the file's machine, where it is beyond its band."""
    differs = variant.differs[load_index]
    if not differs.any():
        return "differs within its band"
    by, half = variant.difference_n[load_index], variant.difference_u95_n[load_index]
    most = int(np.argmax(np.where(differs, np.abs(by), 0.0)))
    share = 100.0 * variant.travel.share(float(variant.travel.angle_rad[most]))
    way = "heavier" if by[most] > 0.0 else "lighter"
    return f"{force_with_band(abs(float(by[most])), float(half[most]))} {way} at {share:.0f}{NO_BREAK}%"


def variant_name(variant: Variant) -> str:
    """``plates radius 260 mm``."""
    return ", ".join(f"{dimension_name(key)} {_value(variant, key)}" for key in variant.values)


def variant_values(variant: Variant) -> tuple[str, ...]:
    """``260 mm``, one for each dimension that varies: where it is said elsewhere which."""
    return tuple(_value(variant, key) for key in variant.values)


def varied_names(variant: Variant) -> tuple[str, ...]:
    """``plates radius``: which dimensions vary."""
    return tuple(dimension_name(key) for key in variant.values)


def _value(variant: Variant, key: ParameterKey) -> str:
    parameter = variant.machine.parameter(key)
    value = number(variant.values[key] / parameter.per_unit, "g")
    return in_unit(f"{value} {unit_symbol(parameter.unit)}")
