"""Air, its density and the force of a weight hanging in it, worked by hand."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from feltload.calibration.weights.buoyancy import air_density, air_density_kg_m3, buoyancy_factor
from feltload.calibration.weights.dead_weights import PLATE_DENSITY_KG_M3, PLATE_DENSITY_U_KG_M3, hang
from feltload.calibration.weights.gravity import Gravity
from published_data import published


def standard_pressure_hpa(height_m):
    """Hydrostatic equation through air whose temperature falls evenly (ISO 2533, geopotential height)."""
    given = published("standard_atmosphere")
    falling = quad(lambda h: 1.0 / (given["temperature_k"] - given["lapse_k_per_m"] * h), 0.0, height_m)[0]
    return given["pressure_hpa"] * math.exp(-9.80665 / given["gas_constant_j_kg_k"] * falling)


def test_air_density_against_a_second_formula():
    other = published("npl_air")
    for t, p, h in [(20, 1013.25, 50), (15, 950, 30), (25, 1030, 60)]:
        moist = h * (other["humidity_slope"] * t - other["humidity_start"])
        second = (other["pressure"] * p - moist) / (273.15 + t)
        assert air_density_kg_m3(t, p, h) == pytest.approx(second, rel=other["relative_uncertainty"])


@pytest.mark.parametrize("height_m", [0.0, 150.0, 1000.0, 3000.0])
def test_a_pressure_that_is_not_stated_is_that_of_the_standard_atmosphere(height_m):
    expected = air_density_kg_m3(20.0, standard_pressure_hpa(height_m), 50.0)
    assert air_density(20.0, None, 50.0, height_m).value == pytest.approx(expected, rel=2e-5)


def test_without_a_height_the_pressure_of_150_m_is_assumed():
    expected = air_density_kg_m3(20.0, standard_pressure_hpa(150.0), 50.0)
    assert air_density(20.0, None, 50.0, None).value == pytest.approx(expected, rel=2e-5)


def per_kelvin(air_kg_m3):
    """Change of the density of air at 20 °C and 50 % with its temperature: it thins, and holds more water."""
    return (air_kg_m3 + 0.009 * 50.0 * 0.061 * math.exp(0.061 * 20.0)) / 293.15


@pytest.mark.parametrize(
    ("pressure_hpa", "height_m", "u_pressure"), [(1013.25, None, 1.0), (None, 0.0, 12.0), (None, None, 35.0)]
)
def test_uncertainty_of_the_air_worked_by_hand(pressure_hpa, height_m, u_pressure):
    # 1 °C, 1 hPa (12 hPa of weather, 35 hPa of unknown height) and 5 % of humidity; the formula itself 2e-4.
    # Common practice, no source, but for the last (OIML R 111-1, E.3).
    air = air_density(20.0, pressure_hpa, 50.0, height_m)
    parts = [
        per_kelvin(air.value),
        0.34848 * u_pressure / 293.15,
        0.009 * 5.0 * math.exp(0.061 * 20.0) / 293.15,
        2e-4 * air.value,
    ]
    assert air.u == pytest.approx(math.hypot(*parts), rel=5e-3)


@pytest.mark.parametrize(
    ("temperature_c", "humidity", "words"), [(None, 50.0, "temperature"), (20.0, None, "humidity")]
)
def test_what_is_not_stated_widens_the_air_and_is_named(temperature_c, humidity, words):
    known, assumed = air_density(20.0, 1013.25, 50.0, 0.0), air_density(temperature_c, 1013.25, humidity, 0.0)
    assert assumed.value == known.value
    # 5 °C for 1 °C, 20 % for 5 %.
    per_percent = 0.009 * math.exp(0.061 * 20.0) / 293.15
    narrow, wide = {
        "temperature": (per_kelvin(known.value), 5.0 * per_kelvin(known.value)),
        "humidity": (5.0 * per_percent, 20.0 * per_percent),
    }[words]
    by_hand = math.sqrt(known.u**2 - narrow**2 + wide**2)
    assert assumed.u == pytest.approx(by_hand, rel=0.02)
    assert assumed.text.endswith(f"{words} assumed")


def test_conventional_mass():
    # OIML R 111-1, 2.7: in air of 1.2 kg/m3 a conventional mass pulls alike whatever the density of the weight.
    given = published("oiml_r_111")
    air, reference = given["reference_air_kg_m3"], given["reference_density_kg_m3"]
    at_reference = buoyancy_factor(air, reference)
    assert at_reference == pytest.approx(1 - air / reference, rel=1e-15)
    for density in (2700.0, 7400.0, 8400.0):
        assert buoyancy_factor(air, density) == pytest.approx(at_reference, rel=1e-14)
    assert buoyancy_factor(1.0, 2700.0) > buoyancy_factor(1.0, reference)


def test_buoyancy_worked_by_hand():
    # A true kilogram of aluminium displaces 1/2700 m3 of air; its conventional mass is less by 0.00015 and 0.000444.
    assert buoyancy_factor(1.1, 2700.0, conventional=False) == pytest.approx(1 - 1.1 / 2700.0, rel=1e-15)
    by_hand = (1 - 1.1 / 2700.0) * (1 - 0.00015) / (1 - 1.2 / 2700.0)
    assert buoyancy_factor(1.1, 2700.0) == pytest.approx(by_hand, rel=1e-15)


def test_force_of_a_hung_plate_worked_by_hand():
    gravity = Gravity(9.81, 0.001, "stated")
    air = air_density(20.0, 900.0, 50.0, None)
    hung = hang(np.array([20.0]), np.array([0.01]), gravity, air)
    true_kg = 20.0 * (1 - 1.2 / 8000.0) / (1 - 1.2 / 7400.0)
    assert hung.force_n[0] == pytest.approx(9.81 * true_kg * (1 - air.value / 7400.0), rel=1e-12)
    assert hung.u_own_n[0] == pytest.approx(0.01 * 9.81, rel=1e-3)
    assert hung.u_gravity_relative == pytest.approx(0.001 / 9.81)
    # In the air about it: u(air) / density; from the density: (1.2 - air) u(density) / density^2.
    by_hand = math.hypot(air.u / 7400.0, (1.2 - air.value) * 300.0 / 7400.0**2)
    assert hung.u_buoyancy_relative == pytest.approx(by_hand, rel=0.05)


def test_density_of_a_plate_covers_iron_and_steel():
    given = published("oiml_r_111")
    (iron, iron_u), (steel, steel_u) = given["iron_kg_m3"], given["steel_kg_m3"]
    low, high = (PLATE_DENSITY_KG_M3 + k * PLATE_DENSITY_U_KG_M3 for k in (-2.0, 2.0))
    assert low < iron - iron_u and steel + steel_u < high
    # And no more than that: half the range stays below the range itself.
    assert high - low < 2.0 * (steel + steel_u - iron + iron_u)
