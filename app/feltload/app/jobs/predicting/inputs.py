"""What a prediction is asked for, as it is typed."""

from __future__ import annotations

import math
import re
from typing import Final

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.jobs.mechanism_limits import SMALLEST_TRAVEL_RAD, impossible_travel, read_travel
from feltload.calibration import (
    MOST_VARIANTS,
    FrictionRange,
    Machine,
    Parameter,
    ParameterKey,
    Varied,
    reference_of,
)
from feltload.core import Dimension, QuantityError, parse_quantity
from feltload.signal import AngleKind, whole_travel

USUAL_TURN = "80 deg"
USUAL_WAY = "60 cm"
"""Travels where nobody says: of a lever or linkage, and of a handle on a rope or rails (common practice, no source)."""

MOST_FRICTION: Final = 0.5
"""Part of the force from which it is no friction but a typing error."""

DIMENSIONS: Final[tuple[Dimension, ...]] = (
    "length", "angle", "mass", "stiffness", "linear-density", "force", "dimensionless",
)  # fmt: skip
_VARY = re.compile(r"\s*(?P<key>[^=\s]+)\s*=\s*(?P<numbers>[-+−0-9.eE:]+)\s*(?P<unit>\S.*)?")
_RANGE = re.compile(r"(?P<low>\S+?)\s*(?:%|[A-Za-z]+)?\s+to\s+(?P<high>\S+)\s*(?P<unit>%|[A-Za-z]+)")


def read_way(text: str | None, machine: Machine) -> tuple[float, bool]:
    """Rotation (rad) from the start stop to the turn, and whether somebody said it.

    Parameters
    ----------
    text : str or None
        "80 deg" of rotation, or "60 cm" of the handle's way.
    machine : Machine

    Raises
    ------
    UsageError, QuantityError
        It is no travel, or further than the machine goes.
    """
    stated = text is not None
    reference = reference_of(machine)
    if text is None:
        text = USUAL_WAY if reference.angle is AngleKind.ROTATION else USUAL_TURN
    try:
        way_m = parse_quantity(text, "length").value
    except QuantityError:
        travel_rad = read_travel(text, machine)
        if travel_rad < 0.0:
            raise UsageError(
                f'"{text}" is below zero', where="--travel", remedy="give the way up from the start stop"
            ) from None
        return travel_rad, stated
    whole = whole_travel(reference)
    if whole.path_m is None:
        raise UsageError(
            "the handle's way is not known on this machine",
            where="--travel",
            remedy='give a turn, such as "80 deg"',
        )
    travel_rad = whole.at_way(way_m) - reference.start_angle_rad
    reason = impossible_travel(machine, np.linspace(0.0, travel_rad, 61))
    if travel_rad < SMALLEST_TRAVEL_RAD or reason is not None:
        raise UsageError(
            f'"{text}" {reason or "is no travel"}', where="--travel", remedy="give what the machine travels"
        )
    return travel_rad, stated


def read_friction(text: str) -> FrictionRange:
    """Friction as somebody expects it: "5 to 15 N", "3 to 8 %" of the force, or "10 N".

    Raises
    ------
    UsageError
        It is no friction.
    """
    found = _RANGE.fullmatch(text.strip())
    words = [found["low"], found["high"]] if found else [text.strip().rstrip("%").strip()] * 2
    unit = found["unit"] if found else ("%" if text.strip().endswith("%") else "")
    try:
        if unit == "%":
            low, high = (0.01 * float(word.rstrip("%")) for word in words)
        elif found:
            low, high = (parse_quantity(f"{word} {unit}", "force").value for word in words)
        else:
            low = high = parse_quantity(text, "force").value
    except (ValueError, QuantityError):
        low = high = math.nan
    if not 0.0 <= low <= high < math.inf or (unit == "%" and high > MOST_FRICTION):
        raise UsageError(
            f"{text!r} is no friction", where="--friction", remedy='write "5 to 15 N" or "3 to 8 %"'
        )
    return FrictionRange(low, high, relative=unit == "%")


def read_vary(text: str, machine: Machine) -> Varied:
    """A dimension and its values: "plates.radius=250:300:10", in the machine file's unit or with one behind.

    Raises
    ------
    UsageError
        It cannot be read.
    MachineError
        There is no such dimension.
    """
    remedy = 'write it as "plates.radius=250:300:10", first, last and step, or one value'
    found = _VARY.fullmatch(text)
    if found is None:
        raise UsageError(f"{text!r} names no dimension with values", where="--vary", remedy=remedy)
    parameter = machine.parameter(ParameterKey.from_dotted(found["key"]))
    try:
        numbers = [float(word) for word in found["numbers"].replace("−", "-").split(":")]
        first, last, step = numbers * 3 if len(numbers) == 1 else numbers
    except ValueError:
        raise UsageError(
            f"{found['numbers']!r} is not first:last:step", where=f"--vary {found['key']}", remedy=remedy
        ) from None
    if len(numbers) == 1:
        last, step = first, 1.0
    if not step > 0.0 or not math.isfinite(first) or not first <= last < math.inf:
        raise UsageError(
            f"{found['numbers']!r} does not rise by its step", where=f"--vary {found['key']}", remedy=remedy
        )
    steps = (last - first) / step
    if not steps < MOST_VARIANTS:
        raise UsageError(
            f"{steps + 1.0:.6g} values, and {MOST_VARIANTS} curves at most can be told apart",
            where=f"--vary {found['key']}",
            remedy="take a larger step",
        )
    values = first + step * np.arange(math.floor(steps + 1e-9) + 1)
    per_unit = (
        parameter.per_unit
        if found["unit"] is None
        else si_of(found["unit"], parameter, where=f"--vary {found['key']}")
    )
    return Varied(parameter, tuple(float(value * per_unit) for value in values))


def si_of(unit: str, parameter: Parameter, *, where: str) -> float:
    """SI of one unit behind typed values; it must measure what the machine file's own does.

    Raises
    ------
    UsageError
        It measures something else.
    """
    for dimension in DIMENSIONS:
        try:
            parse_quantity(f"1 {parameter.unit}", dimension)
            return parse_quantity(f"1 {unit}", dimension).value
        except QuantityError:
            continue
    raise UsageError(
        f'"{unit}" does not measure what {parameter.key.dotted} is in ({parameter.unit or "a plain number"})',
        where=where,
        remedy="use the unit of the machine file",
    )
