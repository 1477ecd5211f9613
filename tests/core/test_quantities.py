"""Quantities as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, strategies as st

from feltload.core.errors import QuantityError
from feltload.core.quantities import format_quantity, parse_quantity
from feltload.core.units import Dimension

# Exact by definition: inch 25.4 mm, avoirdupois pound 0.45359237 kg (international yard and pound, 1959);
# kilogram-force 9.80665 N (3rd CGPM, 1901).
POUND = 0.45359237


@pytest.mark.parametrize(
    ("text", "dimension", "value", "u"),
    [
        ("655(2) mm", "length", 0.655, 0.002),
        ("655 +/- 2 mm", "length", 0.655, 0.002),
        ("655 ± 2 mm", "length", 0.655, 0.002),
        ("655 mm ± 0.2 cm", "length", 0.655, 0.002),
        ("65.5(2) cm", "length", 0.655, 0.002),
        ("25.8 in ± 1/16 in", "length", 25.8 * 0.0254, 0.0254 / 16),
        ("24 3/8 in", "length", 24.375 * 0.0254, None),
        ('24 3/8"', "length", 24.375 * 0.0254, None),
        ("90 lb", "mass", 90 * POUND, None),
        ("9.50(10) kg", "mass", 9.5, 0.1),
        ("9.50(0.10) kg", "mass", 9.5, 0.1),
        ("12°", "angle", math.radians(12), None),
        ("-25(0.3) deg", "angle", math.radians(-25), math.radians(0.3)),
        ("−25 deg", "angle", math.radians(-25), None),
        ("10 kgf", "force", 98.0665, None),
        ("20 lbf", "force", 20 * POUND * 9.80665, None),
        ("5 lbf/in", "stiffness", 5 * POUND * 9.80665 / 0.0254, None),
        ("20(1) degC", "temperature", 293.15, 1.0),
        ("95(2) %", "dimensionless", 0.95, 0.02),
        ("0.95", "dimensionless", 0.95, None),
        ("2.5e-1 m", "length", 0.25, None),
        ("14(0) kg", "mass", 14.0, 0.0),
        ("1.40(0)e1 kg", "mass", 14.0, 0.0),
        ("655 mm ± 5 %", "length", 0.655, 0.03275),
        ("655 mm ± 5%", "length", 0.655, 0.03275),
        ("655 ± 5 % mm", "length", 0.655, 0.03275),
        ("-10 N ± 5 %", "force", -10.0, 0.5),
        ("95 ± 2 %", "dimensionless", 0.95, 0.02),
        ("0.95 ± 2 %", "dimensionless", 0.95, 0.019),
    ],
)
def test_reads(text: str, dimension: Dimension, value: float, u: float | None) -> None:
    quantity = parse_quantity(text, dimension)
    assert quantity.value == pytest.approx(value, rel=1e-12)
    assert quantity.u == (None if u is None else pytest.approx(u, rel=1e-9))


@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("655", "length", "has no unit"),
        ("655 kg", "length", "is not a length"),
        ("40 kg", "force", 'write "kgf"'),
        ("655,5 mm", "length", "decimal comma; use a point: '655.5 mm'"),
        ("3 KG", "mass", '"kg" is known'),
        ("3 zorks", "length", "not a known unit"),
        ("banana", "length", "not a quantity"),
        ("", "mass", "not a quantity"),
        ("1/0 in", "length", "not a quantity"),
        ("1e999 m", "length", "not a finite quantity"),
        ("5(1) ± 2 mm", "length", "gives its uncertainty twice"),
        ("5 ± -2 mm", "length", "not a quantity"),
        ("1 m 20 cm", "length", "not a known unit"),
        ("5 deg", "dimensionless", "is not a plain number"),
        ("5 %", "angle", "is not an angle"),
        ("655 ± 5 %", "length", "has no unit"),
        ("0 deg ± 5 %", "angle", "gives the uncertainty of an angle in percent"),
        ("21 degC ± 1 %", "temperature", "gives the uncertainty of a temperature in percent"),
    ],
)
def test_says_what_to_write(text: str, dimension: Dimension, said: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, dimension, where="m.toml: lever.radius")
    line = str(caught.value)
    assert said in line
    assert line.startswith("m.toml: lever.radius: ")
    assert "\n" not in line


@given(st.text(max_size=24))
def test_any_text_is_read_or_refused_in_one_line(text: str) -> None:
    try:
        quantity = parse_quantity(text, "length")
    except QuantityError as error:
        assert "\n" not in str(error)
    else:
        assert math.isfinite(quantity.value)


def test_format_is_gum_shorthand() -> None:
    assert format_quantity(285.13, 1.94, "mm") == "285.1(1.9) mm"
    assert format_quantity(40.0, None, "kg") == "40 kg"
