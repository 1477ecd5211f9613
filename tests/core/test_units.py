"""Units that stand in our table, against the registry that knows all units."""

from __future__ import annotations

import subprocess
import sys

import pint
import pytest

from feltload.core.units import USUAL, Dimension, is_unit, measures, to_si

SI = {
    "length": "m",
    "mass": "kg",
    "angle": "rad",
    "force": "N",
    "stiffness": "N/m",
    "time": "s",
    "moment": "N*m",
    "dimensionless": "",
    "temperature": "K",
    "linear-density": "kg/m",
    "inertia": "kg*m^2",
    "acceleration": "m/s^2",
    "pressure": "Pa",
    "frequency": "Hz",
}


def test_table_agrees_with_the_registry() -> None:
    registry = pint.UnitRegistry()
    for unit, (dimension, si) in USUAL.items():
        assert registry.Quantity(1.0, unit).to(SI[dimension]).magnitude == pytest.approx(si, rel=1e-14), unit
        # To the registry an angle is a plain number; in the table it is not.
        is_angle = "radian" in str(registry.Quantity(1.0, unit).to_root_units().units)
        assert is_angle == (dimension == "angle"), unit


@pytest.mark.parametrize(
    ("unit", "dimension"), [("yd", "length"), ("mrad", "angle"), ("degC", "temperature")]
)
def test_units_outside_the_table_are_found_in_the_registry(unit: str, dimension: Dimension) -> None:
    assert unit not in USUAL
    assert is_unit(unit)
    assert measures(unit, dimension)
    assert to_si(1.0, unit, dimension) == pytest.approx(
        {"yd": 0.9144, "mrad": 0.001, "degC": 274.15}[unit], rel=1e-14
    )


def test_usual_units_do_not_load_the_registry() -> None:
    script = (
        "import sys; from feltload.core import parse_quantity; "
        "parse_quantity('655(2) mm', 'length'); parse_quantity('-25 deg', 'angle'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
