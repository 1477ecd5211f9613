"""Load-cell calibration against certified regressions, published gravity and class tables."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition.certificates.certificate import StepErrors
from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.fit import choose_degree, degree_factor, find_blunders, fit_polynomial
from feltload.calibration.force.readings import parse_readings
from feltload.calibration.force.standards import ISO_376, ISO_7500_1, iso_376, iso_7500_1, lower_limit
from feltload.calibration.weights.buoyancy import air_density_kg_m3, buoyancy_factor
from feltload.calibration.weights.gravity import GRS80, WGS84, local_gravity, normal_gravity_m_s2
from feltload.core.errors import FeltloadError

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "published" / "sensor_calibration.json").read_text(encoding="utf-8")
)


def digits(got, certified):
    """Certified digits reproduced: -log10 of the relative error, capped at 15."""
    got, certified = np.asarray(got, dtype=float), np.asarray(certified, dtype=float)
    return np.min(-np.log10(np.maximum(np.abs(got - certified) / np.abs(certified), 1e-15)))


@pytest.mark.parametrize(("name", "degree"), [("pontius", 2), ("norris", 1)])
def test_certified_regression(name, degree):
    # NIST StRD, linear regression: certified values to 15 digits.
    data = PUBLISHED[name]
    fit = fit_polynomial(data["x"], data["y"], degree).rescaled()
    assert digits(fit.coefficients, data["B"]) >= 9
    assert digits(np.sqrt(np.diag(fit.covariance)), data["sd"]) >= 9
    assert digits(fit.residual_sd, data["res_sd"]) >= 9


def test_calibration_line_with_covariance():
    # JCGM 100:2008, H.3: line, covariance and the predicted correction at 30 degrees.
    data = PUBLISHED["gum_h3"]
    want = data["published"]
    fit = fit_polynomial(np.array(data["t"]) - data["t0"], data["b"], 1).rescaled()
    sd = np.sqrt(np.diag(fit.covariance))
    assert fit.coefficients == pytest.approx([want["y1"], want["y2"]], abs=5e-5)
    assert sd == pytest.approx([want["s_y1"], want["s_y2"]], abs=5e-5)
    assert fit.covariance[0, 1] / sd.prod() == pytest.approx(want["r"], abs=5e-3)
    assert float(fit(10.0)) == pytest.approx(want["b30"], abs=5e-5)
    assert float(fit.u(10.0)) == pytest.approx(want["u_b30"], abs=5e-5)


def test_load_cell_study_needs_its_quadratic():
    data = PUBLISHED["pontius"]
    load = np.unique(data["x"])
    deflection = np.array([np.mean(np.array(data["y"])[np.array(data["x"]) == x]) for x in load])
    assert choose_degree(deflection, load).degree >= 2
    rng = np.random.default_rng(3)
    straight = np.linspace(1, 10, 10)
    picks = [choose_degree(straight, straight + rng.normal(0, 0.01, 10)).degree for _ in range(400)]
    # Two tests, each at 2.5 %: a straight line is bent in some 5 % of draws.
    assert 0.02 < np.mean(np.array(picks) > 1) < 0.09


def test_degree_factor():
    # From F(1, 7) at 97.5 % = 8.073 in any F table: sqrt(1 + 7.073 / 8).
    assert degree_factor(10, 2) == pytest.approx(1.3727, abs=2e-4)


@pytest.mark.parametrize("latitude_deg", [0, 45, 90])
@pytest.mark.parametrize(("name", "ellipsoid"), [("wgs84", WGS84), ("grs80", GRS80)])
def test_normal_gravity(name, ellipsoid, latitude_deg):
    # WGS 84 and GRS 80 (Moritz 2000).
    values = PUBLISHED["gravity"][name]
    want = values.get(f"g{latitude_deg}", values["ge"])
    assert normal_gravity_m_s2(math.radians(latitude_deg), ellipsoid=ellipsoid) == pytest.approx(
        want, rel=1e-10
    )


@pytest.mark.parametrize(
    ("site", "latitude_deg", "height_m"),
    # Coordinates of the sites from memory, to some 100 m and 10 m.
    [("BIPM_A_0p90m", 48.829, 66.0), ("BIPM_B_0p90m", 48.829, 66.0), ("NBS_Gaithersburg_1965", 39.13, 137.0)],
)
def test_measured_gravity(site, latitude_deg, height_m):
    # ICAG-2001; Tate 1966.
    got = local_gravity(math.radians(latitude_deg), height_m)
    want = PUBLISHED["gravity"]["sites"][site]
    assert got.value == pytest.approx(want, rel=1e-4)
    assert abs(got.value - want) < 3 * got.u


def test_gravity_of_an_unknown_place_covers_the_earth():
    anywhere = local_gravity()
    assert anywhere.value == 9.80665
    for latitude in np.radians(np.arange(0, 91, 10)):
        assert abs(local_gravity(latitude, 0.0).value - anywhere.value) < 2 * anywhere.u
    with pytest.raises(FeltloadError, match="pole"):
        local_gravity(52.0)


def test_air_density_against_a_second_formula():
    # Simplified formula of an NPL good practice note on buoyancy: within its stated 4e-4.
    for t, p, h in [(20, 1013.25, 50), (15, 950, 30), (25, 1030, 60)]:
        other = (0.348444 * p - h * (0.00252 * t - 0.020582)) / (273.15 + t)
        assert air_density_kg_m3(t, p, h) == pytest.approx(other, rel=4e-4)


def test_conventional_mass():
    # OIML D 28: in air of 1.2 kg/m3 a conventional mass pulls alike whatever the density of the weight.
    at_reference = buoyancy_factor(1.2, 8000.0)
    assert at_reference == pytest.approx(1 - 1.2 / 8000)
    for density in (2700.0, 7400.0, 8400.0):
        assert buoyancy_factor(1.2, density) == pytest.approx(at_reference, rel=1e-14)
    assert buoyancy_factor(1.0, 2700.0) > buoyancy_factor(1.0, 8000.0)


def test_class_tables():
    # ISO 376:2011 and ISO 7500-1:2018, class tables.
    for name, limits in ISO_376.items():
        published = PUBLISHED["iso_376_percent"][name]
        assert {**limits, "Ucal": limits["applied"]} == {**published, "applied": published["Ucal"]}
    for name, limits in ISO_7500_1.items():
        assert limits == PUBLISHED["iso_7500_1_percent"][name]


def test_lower_limit_factor():
    # ASTM E74-18, 7.1.2 and 8.5.
    limit = lower_limit(0.1, 0.01, 50.0, 2000.0, [])
    assert limit.factor_n == pytest.approx(0.24)
    assert limit.class_a_from_n == pytest.approx(96.0)
    assert limit.class_aa_from_n == pytest.approx(480.0)
    assert lower_limit(1.0, 0.01, 50.0, 2000.0, []).class_aa_from_n is None


def _steps(**percent):
    return [StepErrors(force_n=f, u95_n=0.1, **percent) for f in (100.0, 200.0, 500.0, 1000.0)]


@pytest.mark.parametrize("name", ["00", "0.5", "1", "2"])
def test_class_edges_of_a_force_proving_instrument(name):
    def classed(factor):
        limits = {key: value * factor for key, value in ISO_376[name].items()}
        return iso_376(
            _steps(reproducibility_percent=limits["b"], interpolation_percent=-limits["fc"]),
            zero_percent=limits["f0"],
            creep_percent=None,
            applied_u95_percent=0.0,
            missing=[],
        ).class_name

    assert classed(1.0) == name
    assert classed(1.001) != name


def test_a_class_ends_where_its_limit_does():
    steps = [*_steps(indication_percent=0.2), StepErrors(force_n=50.0, u95_n=0.1, indication_percent=1.4)]
    got = iso_7500_1(steps, zero_percent=0.01, resolution_n=0.05, missing=[])
    assert (got.class_name, got.from_n, got.to_n) == ("0.5", 100.0, 1000.0)


def test_a_reading_typed_ten_times_too_large_is_named():
    force = np.repeat(np.arange(0, 11) * 50.0, 2)
    reading = 10000 + 84 * force + np.random.default_rng(1).normal(0, 5, len(force))
    assert find_blunders(force, reading) == []
    reading[8] *= 10
    (blunder,) = find_blunders(force, reading)
    assert blunder.index == 8
    assert "ten times too large" in blunder.why


HEAD = "# serial: T-1\nseries,direction,mass,reading\n"


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "no readings"),
        (HEAD + "1,rising,10 kg,100\n1,rising,22 lb,100\n", "units mixed"),
        (HEAD + "1,rising,10 kg,100\n1,rising,20 kg,0.5 mV/V\n", "units mixed"),
        (HEAD + "1,rising,10,100\n", "no unit"),
        (HEAD + "1,sideways,10 kg,100\n", "row 3.*no direction"),
        (HEAD + "1,rising,10 kg,1oo\n", "row 3.*not a number"),
        (HEAD + "1,rising,10 kg\n", "row 3.*3 cells"),
        ("# serail: 4\n" + HEAD + "1,rising,10 kg,100\n", "unknown key"),
        ("series,direction,mass_kg,mass_lb,reading\n", "units mixed"),
        ("series,direction,weight,reading\n", 'unknown column "weight"'),
    ],
)
def test_bad_readings_get_one_line(text, match):
    with pytest.raises(FeltloadError, match=match) as caught:
        parse_readings(text)
    assert "\n" not in str(caught.value)


def test_readings_file():
    text = (
        "# serial: T-1\n# latitude: 52.2 deg\n# rated capacity: 2 kN\n# humidity: 45 %\n"
        "# weight density: 7850(100) kg/m3\n# date: 2026-03-02\n"
        "series,direction,mass,reading\n1,rising,0,1.0 \n1,rising,45.0(0.1) lb,2.25\n"
    )
    readings = parse_readings(text)
    assert readings.load == pytest.approx([0.0, 45 * 0.45359237])
    assert readings.load_u[1] == pytest.approx(0.1 * 0.45359237)
    assert readings.resolution == pytest.approx(0.01)
    assert list(readings.row) == [8, 9]
    assert readings.setup.rated_capacity_n == pytest.approx(2000.0)
    assert readings.setup.density_u_kg_m3 == pytest.approx(100.0)


def test_too_few_points():
    with pytest.raises(ReadingsError, match="too few points"):
        fit_polynomial([1, 2], [1, 2], 1)
