"""Local gravity against published figures, an independent library, and measurements."""

import math

import boule
import numpy as np
import pytest

from feltload.calibration.weights.gravity import GRS80, local_gravity, normal_gravity_m_s2
from feltload.core.errors import FeltloadError
from published_data import published


def test_normal_gravity_of_grs_80_as_published():
    # Moritz 2000 gives GRS 80, not WGS 84. Printed to nine or ten decimals: within one of the last place.
    given = published("grs_80")
    got = [normal_gravity_m_s2(math.radians(at), ellipsoid=GRS80) for at in given["latitude_deg"]]
    assert got == pytest.approx(given["gravity_m_s2"], abs=6e-10)


@pytest.mark.parametrize("height_m", [0.0, 150.0, 1000.0, 4000.0])
@pytest.mark.parametrize("latitude_deg", [0.0, 30.0, 45.0, 60.0, 90.0])
def test_normal_gravity_of_wgs_84_against_a_library(latitude_deg, height_m):
    # boule (Fatiando a Terra) evaluates the closed form at any height; ours is of second order in height.
    other = boule.WGS84.normal_gravity((0.0, latitude_deg, height_m), si_units=True)
    got = normal_gravity_m_s2(math.radians(latitude_deg), height_m)
    assert got == pytest.approx(float(other), abs=1e-10 + 1.2e-7 * height_m / 1000.0)


def test_gravity_of_a_place_is_normal_gravity_at_its_height():
    other = boule.WGS84.normal_gravity((0.0, 45.0, 2500.0), si_units=True)
    assert local_gravity(math.radians(45.0), 2500.0).value == pytest.approx(float(other), abs=1e-6)
    # Without a height, that of inhabited places: 150 m (common practice, no source).
    other = boule.WGS84.normal_gravity((0.0, 45.0, 150.0), si_units=True)
    assert local_gravity(math.radians(-45.0)).value == pytest.approx(float(other), abs=1e-7)


@pytest.mark.parametrize("height_m", [0.0, 500.0, 2000.0])
def test_uncertainty_of_a_place_worked_by_hand(height_m):
    # Anomaly 50 mGal; half of a plate of rock, pi G rho h with 2670 kg/m3; 10 m of height along the free-air gradient.
    rock = math.pi * 6.6743e-11 * 2670.0 * height_m
    free_air = 3.086e-6 * 10.0
    by_hand = math.sqrt(5e-4**2 + rock**2 + free_air**2)
    assert local_gravity(math.radians(45.0), height_m).u == pytest.approx(by_hand, rel=2e-3)


def test_uncertainty_of_a_height_that_is_not_stated_worked_by_hand():
    rock = math.pi * 6.6743e-11 * 2670.0 * 150.0
    by_hand = math.sqrt(5e-4**2 + rock**2 + (3.086e-6 * 300.0) ** 2)
    assert local_gravity(math.radians(45.0)).u == pytest.approx(by_hand, rel=2e-3)


def test_measured_gravity_at_the_bipm():
    given = published("icag_2001")
    got = local_gravity(math.radians(given["latitude_deg"]), given["height_m"])
    for measured in given["gravity_m_s2"]:
        assert abs(got.value - measured) < 2 * got.u


def test_measured_gravity_at_gaithersburg():
    given = published("gaithersburg_1965")
    got = local_gravity(math.radians(given["latitude_deg"]), given["height_m"])
    assert abs(got.value - given["gravity_m_s2"]) < 2 * got.u


def test_gravity_of_an_unknown_place_covers_the_earth_and_no_more():
    anywhere = local_gravity()
    # 3rd CGPM (1901).
    assert anywhere.value == 9.80665
    at_sea = [local_gravity(latitude, 0.0).value for latitude in np.radians(np.arange(0, 91, 10))]
    farthest = max(abs(value - anywhere.value) for value in at_sea)
    assert farthest / 2 < anywhere.u < farthest
    with pytest.raises(FeltloadError, match="pole"):
        local_gravity(52.0)
