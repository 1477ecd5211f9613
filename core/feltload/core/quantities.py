"""Quantities as people write them: a value, perhaps an uncertainty, and a unit.

Accepted forms, all meaning a length of 655 mm with a standard uncertainty of 2 mm::

    "655(2) mm"    "655 +/- 2 mm"    "655 ± 2 mm"    "655 mm ± 2 mm"    "65.5 cm ± 2 mm"

and a part of the value, "655 mm ± 0.3 %", where the zero of the scale is not a matter of choice (not for angles).

Parentheses follow the GUM shorthand: digits without a point count in the last place of the value
("9.50(10) kg" is 9.50 kg with 0.10 kg), a number with a point is taken as it stands ("-25(0.3) deg").
Fractions as on a tape measure work on either side of the sign: "24 3/8 in ± 1/16 in".

Source of the shorthand: JCGM 100:2008 (GUM), 7.2.2.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from uncertainties import ufloat, ufloat_fromstr

from feltload.core.errors import QuantityError
from feltload.core.units import Dimension, is_unit, measures, si_per_unit, to_si

_EXAMPLES: Final[dict[str, str]] = {
    "length": "655(2) mm",
    "mass": "40.0(0.1) kg",
    "angle": "-25(0.3) deg",
    "force": "250(2) N",
    "stiffness": "800(20) N/m",
    "time": "20(1) ms",
    "moment": "35(1) N*m",
    "dimensionless": "0.95(0.02)",
    "temperature": "21(1) degC",
    "linear-density": "2.3(0.1) kg/m",
    "inertia": "0.12(0.01) kg*m^2",
    "acceleration": "9.81 m/s^2",
    "pressure": "1013(5) hPa",
    "frequency": "1000 Hz",
}

_NUMBER = r"(?:\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
_VALUE = re.compile(
    rf"""^\s*(?P<sign>[+-]?)\s*(?P<value>{_NUMBER})
         (?:\s*\(\s*(?P<short>\d+\.?\d*|\.\d+)\s*\)(?P<exponent>[eE][+-]?\d+)?)?
         \s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)
_SPREAD = re.compile(rf"^\s*(?P<value>{_NUMBER})\s*(?P<unit>.*?)\s*$")
_PLUS_MINUS = re.compile(r"\+\s*/\s*-|±|\+-")
_SPELLING: Final = (
    ("°", " deg"),
    ("º", " deg"),
    ("·", "*"),
    ("⋅", "*"),
    ("²", "^2"),
    ("″", " in"),
    ('"', " in"),
    ("”", " in"),
)
LONGEST_TEXT: Final = 200
_DECIMAL_COMMA = re.compile(r"\d,\d")


@dataclass(frozen=True)
class Quantity:
    """One quantity in SI.

    Attributes
    ----------
    value : float
        Value in the SI unit of its dimension (m, kg, rad, N, N/m, s, N·m, K, ...).
    u : float or None
        Standard uncertainty in the same unit; None when the person gave none.
    text : str
        What was written.
    unit : str
        The unit as it was written, for showing results the way the person measured.
    """

    value: float
    u: float | None
    text: str
    unit: str = ""


def _number(text: str) -> float:
    """A number or a tape-measure fraction ("24 3/8", "1/16")."""
    if "/" not in text:
        return float(text)
    whole, fraction = "0", text
    if mixed := re.match(r"^(\d+)\s+(\d+\s*/\s*\d+)$", text.strip()):
        whole, fraction = mixed.groups()
    above, below = fraction.split("/")
    return float(whole) + float(above) / float(below)


def _canonical(text: str) -> str:
    for written, meant in _SPELLING:
        text = text.replace(written, meant)
    return text.replace("−", "-").replace("\u00a0", " ").strip()


def _check_unit(unit: str, dimension: Dimension, text: str, where: str | None) -> None:
    """Raise QuantityError unless `unit` measures `dimension`."""
    example = f'write for example "{_EXAMPLES[dimension]}"'
    if not unit:
        if dimension == "dimensionless":
            return
        raise QuantityError(
            f'"{text}" has no unit',
            where=where,
            remedy=f'give {_spoken(dimension)}, such as "{_EXAMPLES[dimension]}"',
        )
    hint = ""
    if not is_unit(unit):
        if is_unit(unit.lower()):
            hint = f'capitals matter in units, "{unit.lower()}" is known; '
        raise QuantityError(f'"{text}": "{unit}" is not a known unit', where=where, remedy=hint + example)
    if measures(unit, dimension):
        return
    if dimension == "force" and measures(unit, "mass"):
        hint = f'a mass is not a force, write "{unit}f" if its weight is meant; '
    raise QuantityError(f'"{text}" is not {_spoken(dimension)}', where=where, remedy=hint + example)


def _spoken(dimension: str) -> str:
    name = "plain number" if dimension == "dimensionless" else dimension.replace("-", " ")
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


def parse_quantity(text: str, dimension: Dimension, *, where: str | None = None) -> Quantity:
    """Read a quantity with its unit and, if given, its standard uncertainty.

    Parameters
    ----------
    text : str
        For example "655(2) mm", "25.8 in ± 1/16 in", "24 3/8 in", "90 lb", "12°".
    dimension : str
        What it must measure; "90 lb" is a mass, "90 lbf" a force.
    where : str, optional
        File and key, for the error message.

    Returns
    -------
    Quantity
        Value and standard uncertainty in SI.

    Raises
    ------
    QuantityError
        The text cannot be read, has no unit, or measures something else.
    """
    example = f'write for example "{_EXAMPLES[dimension]}"'
    if len(text) > LONGEST_TEXT:
        # What looks units up takes a time that grows with the square of the length.
        raise QuantityError(f'"{text[:20]}…" is too long for a quantity', where=where, remedy=example)
    plain = _canonical(text)
    if _DECIMAL_COMMA.search(plain):
        raise QuantityError(
            f'"{text}" has a decimal comma', where=where, remedy=f"use a point: {plain.replace(',', '.')!r}"
        )
    parts = _PLUS_MINUS.split(plain)
    main = _VALUE.match(parts[0]) if len(parts) <= 2 else None
    spread = _SPREAD.match(parts[1]) if len(parts) == 2 else None
    if main is None or (len(parts) == 2 and spread is None):
        raise QuantityError(f'"{text}" is not a quantity', where=where, remedy=example)
    if main["short"] is not None and spread is not None:
        raise QuantityError(
            f'"{text}" gives its uncertainty twice', where=where, remedy='keep either "(2)" or "± 2"'
        )
    relative, unit, spread_unit = _units_of(main, spread, dimension)
    if relative and dimension in ("angle", "temperature"):
        raise QuantityError(
            f'"{text}" gives the uncertainty of {_spoken(dimension)} in percent', where=where, remedy=example
        )
    _check_unit(unit, dimension, text, where)
    if not relative:
        _check_unit(spread_unit, dimension, text, where)
    try:
        value, u = _value_and_u(main)
        value_si = to_si(value, unit, dimension)
        if spread is None:
            u_si = None if u is None else u * si_per_unit(unit, dimension)
        elif relative:
            u_si = _number(spread["value"]) / 100.0 * abs(value_si)
        else:
            u_si = _number(spread["value"]) * si_per_unit(spread_unit, dimension)
    except (ValueError, ZeroDivisionError, OverflowError) as error:
        raise QuantityError(f'"{text}" is not a quantity', where=where, remedy=example) from error
    if not math.isfinite(value_si) or (u_si is not None and not math.isfinite(u_si)):
        raise QuantityError(f'"{text}" is not a finite quantity', where=where, remedy=example)
    return Quantity(value=value_si, u=u_si, text=text, unit=unit)


def _units_of(
    main: re.Match[str], spread: re.Match[str] | None, dimension: Dimension
) -> tuple[bool, str, str]:
    """Whether the spread is a part of the value, the value's unit, and the spread's."""
    if spread is None:
        return False, main["unit"], main["unit"]
    unit, after = main["unit"], spread["unit"]
    if not after.startswith("%") or unit.startswith("%"):
        return False, unit or after, after or unit
    if dimension == "dimensionless" and not unit and _number(main["value"]) > 1.0:
        # "95 ± 2 %" is a share, and so is its spread; "0.95 ± 2 %" is a spread of 2 % of it.
        return False, after, after
    return True, unit or after[1:].strip(), after


def _value_and_u(main: re.Match[str]) -> tuple[float, float | None]:
    """Value and shorthand uncertainty of the part before a plus-minus sign."""
    sign = -1.0 if main["sign"] == "-" else 1.0
    if main["short"] is None:
        return sign * _number(main["value"]), None
    if "/" in main["value"]:
        # No last place to count in: the parenthesis is in the unit itself.
        return sign * _number(main["value"]), float(main["short"])
    written = f"{main['value']}({main['short']}){main['exponent'] or ''}"
    if float(main["short"]) == 0.0:
        return sign * float(main["value"] + (main["exponent"] or "")), 0.0
    number = ufloat_fromstr(written)
    return sign * float(number.nominal_value), float(number.std_dev)


def format_quantity(value: float, u: float | None, unit: str) -> str:
    """Write a value and its standard uncertainty in GUM shorthand, two digits of uncertainty.

    Examples
    --------
    >>> format_quantity(285.13, 1.94, "mm")
    '285.1(1.9) mm'
    """
    known = u is not None and u > 0.0 and math.isfinite(u)
    number = f"{ufloat(value, u):.2uS}" if known else f"{value:.4g}"
    return f"{number} {unit}".strip()
