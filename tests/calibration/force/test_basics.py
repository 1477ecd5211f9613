"""Curves through calibration readings against certified regressions; readings files."""

import numpy as np
import pytest

from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.fit import choose_degree, fit_polynomial
from feltload.calibration.force.readings import parse_readings
from feltload.core.errors import FeltloadError
from published_data import published


def digits(got, certified):
    """Certified digits reproduced: -log10 of the relative error, capped at 15."""
    got, certified = np.asarray(got, dtype=float), np.asarray(certified, dtype=float)
    return np.min(-np.log10(np.maximum(np.abs(got - certified) / np.abs(certified), 1e-15)))


@pytest.mark.parametrize(("data", "degree"), [(published("pontius"), 2), (published("norris"), 1)])
def test_certified_regression(data, degree):
    # NIST StRD, linear regression: certified values to 15 digits.
    fit = fit_polynomial(data["x"], data["y"], degree).rescaled()
    assert digits(fit.coefficients, data["coefficients"]) >= 9
    assert digits(np.sqrt(np.diag(fit.covariance)), data["standard_deviations"]) >= 9
    assert digits(fit.residual_sd, data["residual_sd"]) >= 9


def test_calibration_line_with_covariance():
    # JCGM 100:2008, H.3: line, covariance and the predicted correction at 30 degrees.
    data = published("gum_h3")
    fit = fit_polynomial(
        np.array(data["temperature_c"]) - data["reference_c"], data["correction_c"], 1
    ).rescaled()
    sd = np.sqrt(np.diag(fit.covariance))
    assert fit.coefficients == pytest.approx([data["intercept"], data["slope"]], abs=5e-5)
    assert sd == pytest.approx([data["intercept_u"], data["slope_u"]], abs=5e-5)
    assert fit.covariance[0, 1] / sd.prod() == pytest.approx(data["correlation"], abs=5e-3)
    assert fit.residual_sd == pytest.approx(data["residual_sd"], abs=5e-5)
    at = 30.0 - data["reference_c"]
    assert float(fit(at)) == pytest.approx(data["predicted_at_30_c"], abs=5e-5)
    assert float(fit.u(at)) == pytest.approx(data["predicted_u"], abs=5e-5)


def test_load_cell_study_needs_its_quadratic():
    data = published("pontius")
    load = np.unique(data["x"])
    deflection = np.array([np.mean(np.array(data["y"])[np.array(data["x"]) == x]) for x in load])
    assert choose_degree(deflection, load).degree >= 2
    rng = np.random.default_rng(3)
    straight = np.linspace(1, 10, 10)
    picks = [choose_degree(straight, straight + rng.normal(0, 0.01, 10)).degree for _ in range(400)]
    # Two tests, each at 2.5 %: a straight line is bent in some 5 % of draws.
    assert 0.02 < np.mean(np.array(picks) > 1) < 0.09


def test_a_curve_with_another_scatter_is_as_much_less_certain():
    # Residuals of 1/6, -1/3 and 1/6: half as large again, the curve's u is half as large again, and itself the same.
    fit = fit_polynomial([1, 2, 3], [1, 2, 4], 1)
    wider = fit.with_residual_sd(1.5 * 6**-0.5)
    assert wider.residual_sd == pytest.approx(1.5 * 6**-0.5)
    assert wider.u([0.0, 2.0, 5.0]) == pytest.approx(1.5 * fit.u([0.0, 2.0, 5.0]))
    assert wider([0.0, 2.0, 5.0]) == pytest.approx(fit([0.0, 2.0, 5.0]))
    # A curve through every point has no scatter to scale.
    exact = fit_polynomial([1, 2, 3], [2, 4, 6], 1)
    assert np.all(np.isfinite(exact.with_residual_sd(1.0).covariance))


HEAD = "# serial: T-1\nseries,direction,mass,reading\n"


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "no readings"),
        (HEAD + "1,rising,10 kg,100\n1,rising,22 lb,100\n", "units mixed"),
        (HEAD + "1,rising,10 kg,100\n1,rising,20 kg,200\n1,rising,30 kg,0.5 mV/V\n", "row 5.*units mixed"),
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


@pytest.mark.parametrize(
    ("column", "number", "load", "is_force"),
    [
        ("mass_lb", "45", 45 * 0.45359237, False),
        ("mass_kg", "20.5", 20.5, False),
        ("force_n", "200", 200.0, True),
    ],
)
def test_plain_numbers_are_in_the_unit_of_their_column(column, number, load, is_force):
    # 1 lb is 0.45359237 kg exactly (international yard and pound agreement of 1959).
    readings = parse_readings(f"series,direction,{column},reading\n1,rising,0,1\n1,rising,{number},2\n")
    assert readings.load[1] == pytest.approx(load)
    assert readings.load_is_force == is_force


def test_too_few_points():
    with pytest.raises(ReadingsError, match="too few points"):
        fit_polynomial([1, 2], [1, 2], 1)
    with pytest.raises(ReadingsError, match="too few points"):
        fit_polynomial([1, 1, 2, 2], [1, 2, 3, 4], 2)
    # One more than the line needs: residuals of 1/6, -1/3 and 1/6 with one degree of freedom.
    assert fit_polynomial([1, 2, 3], [1, 2, 4], 1).residual_sd == pytest.approx(6**-0.5)
