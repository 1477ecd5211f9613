"""Forces of hung masses as a calibration takes them from the head of its file, worked by hand."""

import math
from dataclasses import replace

import boule
import pytest

from feltload.calibration.force.applied import applied_forces
from feltload.calibration.force.facts import ForceCertificateFact
from feltload.calibration.force.readings import parse_readings

ROWS = "series,direction,position_deg,mass,reading\n" + "".join(
    f"1,rising,0,{kg} kg,{1000 * kg}\n" for kg in (0, 10, 20, 40, 60, 80, 100)
)


def applied(head, rows=ROWS):
    readings = parse_readings("# serial: T-1\n# date: 2026-03-02\n" + head + rows)
    return applied_forces(readings, readings.setup)


def test_gravity_is_that_of_the_stated_place():
    made = applied("# latitude: 45 deg\n# height: 1600 m\n# mass uncertainty: 0.01 %\n")
    at_height = float(boule.WGS84.normal_gravity((0.0, 45.0, 1600.0), si_units=True))
    assert made.gravity.value == pytest.approx(at_height, abs=2e-7)
    # 1600 m in the standard atmosphere: 835.2 hPa, so air of 0.988 kg/m3 at 20 °C; plates of 7400 kg/m3.
    true = (1 - 1.2 / 8000.0) / (1 - 1.2 / 7400.0)
    assert made.force_n[-1] == pytest.approx(100.0 * at_height * true * (1 - 0.988 / 7400.0), rel=1e-6)
    assert made.warnings == []


def test_a_stated_gravity_density_and_true_mass_are_taken():
    made = applied(
        "# gravity: 9.8123(2) m/s^2\n# weight density: 7850(100) kg/m3\n# mass uncertainty: 0.01 %\n"
        "# temperature: 20 degC\n# pressure: 1013.25 hPa\n# humidity: 50 %\n# mass kind: true\n"
    )
    # 1.199 kg/m3 by OIML R 111-1, E.3-1 (from memory).
    assert made.force_n[-1] == pytest.approx(981.23 * (1 - 1.1993 / 7850.0), rel=1e-6)
    lines = {line.source: line.u_relative for line in made.budget}
    assert lines["gravity"] == pytest.approx(2e-4 / 9.8123)
    assert lines["weights"] == pytest.approx(1e-4)


def test_a_stated_gravity_without_its_uncertainty_is_taken_as_exact():
    # Only a program can state it so; the head of a file has to say how well it is known.
    readings = parse_readings("# serial: T-1\n# mass uncertainty: 0.01 %\n" + ROWS)
    made = applied_forces(readings, replace(readings.setup, gravity_m_s2=9.8))
    assert (made.gravity.value, made.gravity.u) == (9.8, 0.0)


def test_stamped_plates_are_rectangular_within_their_stamp():
    # ±2.5 % (common practice, no source): the standard uncertainty is that over the root of three.
    made = applied("# latitude: 45 deg\n# height: 0 m\n")
    lines = {line.source: line.u_relative for line in made.budget}
    assert lines["weights"] == pytest.approx(0.025 / math.sqrt(3.0))
    (warning,) = made.warnings
    assert warning.kind is ForceCertificateFact.WEIGHTS_WITHOUT_U
    assert warning.figure("within_percent") == pytest.approx(2.5)


@pytest.mark.parametrize(("first", "warned"), [("10.000(0.001) kg", False), ("10 kg", True)])
def test_one_weight_without_its_uncertainty_is_enough_to_warn(first, warned):
    # The empty cell has no weight that could have one.
    rows = (
        "series,direction,mass,reading\n1,rising,0,0\n"
        + f"1,rising,{first},1000\n1,rising,20(0.002) kg,2000\n"
    )
    made = applied("# latitude: 45 deg\n# height: 0 m\n", rows)
    assert (ForceCertificateFact.WEIGHTS_WITHOUT_U in [fact.kind for fact in made.warnings]) == warned
    # Wrong together: (0.001 x 10 + 0.002 x 20) / (10² + 20²), or with 2.5 % / sqrt(3) of the first one.
    spread = 0.25 / math.sqrt(3.0) if warned else 0.001
    lines = {line.source: line.u_relative for line in made.budget}
    assert lines["weights"] == pytest.approx((10.0 * spread + 20.0 * 0.002) / 500.0)
