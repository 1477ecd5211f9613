"""The head of a readings file: what each line means, and the least and greatest that it may say."""

import datetime as dt
import math

import pytest

from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.setup import ForceSetup, parse_setup
from feltload.core.errors import FeltloadError


def test_every_line_in_the_unit_that_is_computed_with():
    setup = parse_setup(
        {
            "serial": "T-1",
            "sensor": "S-beam",
            "number": "12",
            "calibrated by": "N. N.",
            "place": "bench",
            "note": "on a hook",
            "date": "2026-03-02",
            "valid": "18 months",
            "latitude": "45 deg",
            "height": "0.5 km",
            "temperature": "21 degC",
            "pressure": "101.3 kPa",
            "humidity": "45 %",
            "rated capacity": "2 kN",
            "gravity": "9.81234(20) m/s^2",
            "mass uncertainty": "0.02 %",
            "weight density": "7850(100) kg/m3",
            "mass kind": "true",
        }
    )
    assert setup == ForceSetup(
        serial="T-1",
        sensor="S-beam",
        number="12",
        calibrated_by="N. N.",
        place="bench",
        note="on a hook",
        date=dt.date(2026, 3, 2),
        valid_months=18,
        latitude_rad=pytest.approx(math.pi / 4.0),
        height_m=pytest.approx(500.0),
        temperature_c=pytest.approx(21.0),
        pressure_hpa=pytest.approx(1013.0),
        humidity_percent=pytest.approx(45.0),
        rated_capacity_n=pytest.approx(2000.0),
        gravity_m_s2=9.81234,
        gravity_u_m_s2=pytest.approx(2e-4),
        mass_u_relative=pytest.approx(2e-4),
        density_kg_m3=pytest.approx(7850.0),
        density_u_kg_m3=pytest.approx(100.0),
        true_mass=True,
    )
    assert parse_setup({}) == ForceSetup()
    assert (ForceSetup().valid_months, ForceSetup().true_mass) == (12, False)


@pytest.mark.parametrize(
    ("key", "text", "field", "value"),
    [
        ("humidity", "0 %", "humidity_percent", 0.0),
        ("humidity", "100%", "humidity_percent", 100.0),
        ("valid", "1 month", "valid_months", 1),
        ("valid", "60 months", "valid_months", 60),
        ("gravity", "9.7601(1) m/s^2", "gravity_m_s2", 9.7601),
        ("gravity", "9.8399(1) m/s^2", "gravity_m_s2", 9.8399),
        ("weight density", "500 kg/m3", "density_kg_m3", 500.0),
        ("weight density", "23000 kg/m^3", "density_kg_m3", 23000.0),
        # Three hundredths where nothing is said of how well it is known.
        ("weight density", "7000 kg/m3", "density_u_kg_m3", pytest.approx(210.0)),
        ("mass kind", "conventional", "true_mass", False),
    ],
)
def test_the_last_that_is_taken(key, text, field, value):
    assert getattr(parse_setup({key: text}), field) == value


@pytest.mark.parametrize(
    ("key", "text", "complaint"),
    [
        ("humidity", "-1 %", "not a percentage"),
        ("humidity", "101 %", "not a percentage"),
        ("humidity", "45", "not a percentage"),
        ("humidity", "wet %", "not a percentage"),
        ("mass uncertainty", "nan %", "not a percentage"),
        ("valid", "0 months", "not a time of validity"),
        ("valid", "61 months", "not a time of validity"),
        ("valid", "long", "not a time of validity"),
        ("gravity", "9.75(1) m/s^2", "not the gravity of a place"),
        ("gravity", "9.85(1) m/s^2", "not the gravity of a place"),
        ("gravity", "9.81 m/s^2", "not the gravity of a place"),
        ("weight density", "499 kg/m3", "not the density of a weight"),
        ("weight density", "23001 kg/m3", "not the density of a weight"),
        ("weight density", "7850", "not the density of a weight"),
        ("mass kind", "heavy", "no kind of mass"),
        ("date", "2.3.2026", "not a date"),
        ("latitude", "52", "unit"),
        ("serail", "T-1", 'unknown key "serail"'),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(key, text, complaint):
    with pytest.raises(FeltloadError) as caught:
        parse_setup({"serial": "T-1", key: text}, where="cell.csv")
    assert complaint in str(caught.value)
    assert str(caught.value).startswith("cell.csv" if key == "serail" else f"cell.csv: {key}: ")
    with pytest.raises(FeltloadError) as caught:
        parse_setup({key: text})
    assert complaint in str(caught.value)


def test_an_unknown_key_is_met_with_those_there_are():
    with pytest.raises(ReadingsError, match=r"known: serial, sensor, .*latitude.*, mass kind"):
        parse_setup({"weight": "heavy"})


def test_what_is_stated_besides_takes_the_place_of_the_head():
    head = ForceSetup(serial="T-1", place="bench", valid_months=6, height_m=20.0)
    other = ForceSetup(serial="T-2", height_m=0.0, true_mass=True)
    assert head.overridden(other) == ForceSetup(
        serial="T-2", place="bench", valid_months=6, height_m=0.0, true_mass=True
    )
    assert head.overridden(None) is head
