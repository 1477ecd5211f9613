"""Uncertainty that a load-cell certificate states: against a reference library, and against truth by simulation."""

import GTC
import numpy as np
import pytest
from GTC import type_a

from feltload.calibration.force.calibration import calibrate_readings
from feltload.calibration.force.facts import ForceCertificateFact, ForceSource
from feltload.calibration.force.fit import fit_polynomial
from feltload.calibration.force.readings import parse_readings

HEAD = (
    "# serial: T-1\n# date: 2026-03-02\n# gravity: 9.81234(5) m/s^2\n# temperature: 21 degC\n"
    "# pressure: 1013 hPa\n# humidity: 45 %\n# mass uncertainty: 0.02 %\n# weight density: 8000(50) kg/m3\n"
    "series,direction,position_deg,mass,reading,time_s\n"
)
MASSES = np.arange(10, 101, 10)
PER_N = 850.0


def readings_text(rng, *, noise=200.0, hysteresis=0.0, mass_u=2e-4, gravity_u=5e-5, hold=None):
    """Readings of a cell of 850 counts/N under masses and gravity that are off by draws of their own u."""
    per_kg = PER_N * (9.81234 + rng.normal(0, gravity_u)) * (1 + rng.normal(0, mass_u)) * (1 - 1.2 / 8000)
    span = per_kg * MASSES[-1]

    def counts(kg, side):
        k = kg / MASSES[-1]
        bent = side * hysteresis * span * 4 * k * (1 - k)
        return f"{10000 + per_kg * kg + bent + rng.normal(0, noise):.0f}"

    rows = []
    for series in (1, 2, 3):
        ladder = [("rising", kg) for kg in (0, *MASSES)] + [("falling", kg) for kg in (*MASSES[-2::-1], 0)]
        rows += [
            f"{series},{direction},{120 * series},{kg} kg,{counts(kg, 1 if direction == 'falling' else -1)},"
            for direction, kg in ladder
        ]
    if hold is not None:
        top = 10000 + per_kg * MASSES[-1]
        rows += [f"hold,hold,0,100 kg,{top + span * hold(t):.2f},{t}" for t in (20, 30, 60, 150, 300, 320)]
    return HEAD + "\n".join(rows) + "\n"


def certificate_of(text):
    readings = parse_readings(text)
    return calibrate_readings(readings, readings.setup)


def test_line_prediction_against_a_reference_library():
    # GTC (Measurement Standards Laboratory of New Zealand): line fit with correlated intercept and slope.
    rng = np.random.default_rng(2)
    x = np.repeat(np.arange(1, 11) * 1000.0, 3)
    y = 0.5 + 0.012 * x + rng.normal(0, 0.3, len(x))
    fit = fit_polynomial(x, y, 1)
    other = type_a.line_fit(x.tolist(), y.tolist())
    intercept, slope = other.a_b
    for at in (0.0, 500.0, 5500.0, 12000.0):
        predicted = intercept + slope * at
        assert float(fit(at)) == pytest.approx(GTC.value(predicted), rel=1e-12)
        assert float(fit.u(at)) == pytest.approx(GTC.uncertainty(predicted), rel=1e-9)


def test_whole_budget_against_a_reference_library():
    certificate = certificate_of(readings_text(np.random.default_rng(3), hysteresis=5e-4))
    assert len(certificate.coefficients_n) == 2
    reading = float(certificate.reading_of(600.0))
    x = (reading - certificate.zero_reading) / certificate.reading_scale
    covariance = np.array(certificate.covariance_n2)
    sd = np.sqrt(np.diag(covariance))
    a, b = GTC.multiple_ureal(certificate.coefficients_n, sd.tolist(), df=50)
    GTC.set_correlation(float(covariance[0, 1] / sd.prod()), a, b)
    force = a + b * x
    for line in certificate.budget:
        force = force * (1 + GTC.ureal(0, line.u_relative)) + GTC.ureal(0, line.u_n)
    assert GTC.value(force) == pytest.approx(600.0, rel=1e-9)
    assert float(certificate.u_force_n(600.0)) == pytest.approx(GTC.uncertainty(force), rel=1e-6)


@pytest.mark.parametrize(("noise", "hysteresis"), [(200.0, 0.0), (200.0, 1e-3)])
def test_stated_uncertainty_covers_the_truth(noise, hysteresis):
    # New cell, new weights, new gravity in every draw; then one new reading, rising or falling at random.
    inside = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        certificate = certificate_of(readings_text(rng, noise=noise, hysteresis=hysteresis))
        k = rng.uniform(0.15, 0.95, 20)
        truth = k * 100 * 9.81234
        span = PER_N * 981.234
        bent = rng.choice([-1.0, 1.0], 20) * hysteresis * span * 4 * k * (1 - k)
        got = certificate.force_n(certificate.zero_reading + PER_N * truth + bent + rng.normal(0, noise, 20))
        inside.append(np.abs(got - truth) < 2 * certificate.u_force_n(truth))
    # With hysteresis the limits are rectangular: full cover at k = 2 is what GUM F.2.2.2 then gives.
    assert 0.93 < np.mean(inside) <= (0.975 if hysteresis == 0 else 1.0)


def test_hysteresis_is_a_contribution_of_its_own():
    budget = {
        line.source: line
        for line in certificate_of(readings_text(np.random.default_rng(5), hysteresis=1e-3)).budget
    }
    # Half difference at mid-span: 1e-3 of 981 N; single readings scatter by 200 counts.
    assert budget[ForceSource.HYSTERESIS].u_n == pytest.approx(0.981 / 3**0.5, rel=0.15)
    assert budget[ForceSource.SCATTER].u_n == pytest.approx(200 / PER_N, rel=0.25)


@pytest.mark.parametrize(("size", "class_name"), [(2e-4, "00"), (8e-4, "1"), (4e-3, None)])
def test_creep(size, class_name):
    # Exponential creep with a time constant of 100 s: from 30 s to 300 s it makes exp(-0.3) - exp(-3) of its size.
    text = readings_text(np.random.default_rng(6), noise=20.0, hold=lambda t: size * (1 - np.exp(-t / 100)))
    certificate = certificate_of(text.replace("0.02 %", "0.002 %"))
    expected = 100 * size * (np.exp(-0.3) - np.exp(-3.0))
    iso_376 = certificate.classes[0]
    assert iso_376.creep_percent == pytest.approx(expected, rel=0.02)
    assert iso_376.class_name == class_name
    assert ForceCertificateFact.NO_CREEP not in [fact.kind for fact in iso_376.missing]
    creep = next(line for line in certificate.budget if line.source == ForceSource.CREEP)
    assert creep.u_relative == pytest.approx(expected / 100 / 3**0.5, rel=0.02)


def test_creep_too_short_to_judge_is_said_to_be_missing():
    text = readings_text(np.random.default_rng(6), hold=lambda t: 1e-4)
    cut = "\n".join(line for line in text.splitlines() if not line.endswith((",300", ",320"))) + "\n"
    assert ForceCertificateFact.NO_CREEP in [fact.kind for fact in certificate_of(cut).classes[0].missing]
