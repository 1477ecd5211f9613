"""Loads and dimensions fitted to a lever whose force is written down: g / 2 (4 kg + load) cos q."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.calibration import parse_machine
from feltload.calibration.agreement.compare import check_agreement
from feltload.calibration.agreement.curves import MeasuredCurves
from feltload.calibration.agreement.explanation import CauseSet, CurvePoint, Explanation, LoadInstead, explain
from feltload.calibration.agreement.loads import LoadColumns
from feltload.calibration.agreement.result import Agreement, AgreementVerdict
from feltload.calibration.agreement.survey_fit import FittedDimension
from feltload.calibration.machine.parameters import ParameterKey
from feltload.calibration.weights.gravity import Gravity

LEVER = """
name = "lever (invented)"
mechanism = "lever"
start_angle = "0 +/- 0 deg"
[lever]
handle_radius = "500 +/- 0 mm"
hinge_inclination = "0 +/- 0 deg"
[[lever.mass]]
name = "arm"
mass = "4 +/- 0 kg"
radius = "250 +/- 0 mm"
angle = "0 +/- 0 deg"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "250 +/- 5 mm"
angle = "0 +/- 0 deg"
"""
G = Gravity(10.0, 0.0, "round")
PEG = ParameterKey("radius", "plates")


def _curves(
    q_deg: list[float], stated_kg: list[float], there_kg: list[float], **given: np.ndarray
) -> MeasuredCurves:
    """Measured without error, each point good to 2 N and the loads exactly known, where nothing else is given."""
    q = np.radians(q_deg)
    force = np.concatenate([5.0 * (4.0 + load) * np.cos(q) for load in there_kg])
    fields = {"covariance_n2": 4.0 * np.eye(force.size), "mass_n2": np.zeros((force.size, force.size))}
    return MeasuredCurves(q, q, np.array(stated_kg), force, **(fields | given))


def _columns(curves: MeasuredCurves) -> LoadColumns:
    return LoadColumns(parse_machine(LEVER), curves, G)


def test_a_kilogram_more_is_felt_by_its_own_curve_alone() -> None:
    columns = _columns(_curves([0.0, 60.0], [20.0, 40.0], [20.0, 40.0]))
    assert columns.per_kg_n == pytest.approx(np.array([[5.0, 0.0], [2.5, 0.0], [0.0, 5.0], [0.0, 2.5]]))


def test_the_load_that_sizes_the_band_is_no_less_than_stated() -> None:
    columns = _columns(_curves([0.0, 30.0, 60.0], [20.0, 40.0], [27.0, 33.0]))
    assert columns.apparent_kg() == pytest.approx([27.0, 40.0])


def test_the_band_at_another_load_is_that_of_its_dimensions_and_gravity() -> None:
    """5 mm of 250 mm move the 5 x 30 cos q of the plates by 2 %, 0.1 of 10 m/s² moves all of it by 1 %."""
    columns = LoadColumns(parse_machine(LEVER), _curves([0.0, 60.0], [20.0], [20.0]), Gravity(10.0, 0.1, ""))
    covariance, shapes = columns.model_covariance_n2(np.array([30.0]))
    peg, gravity = np.array([3.0, 1.5]), np.array([1.7, 0.85])
    assert shapes[:, 6] == pytest.approx(peg)
    assert covariance == pytest.approx(np.outer(peg, peg) + np.outer(gravity, gravity))


NOTHING = np.zeros((2, 0))


def test_a_load_has_the_uncertainty_of_the_points_that_show_it() -> None:
    """2 N over the root of 5² + 2.5² N²/kg²; the floor of 0.0005 of 145 N adds to the weights of both points alike."""
    curves = _curves([0.0, 60.0], [20.0], [25.0])
    (load,) = _columns(curves).fitted([0], curves.covariance_n2, NOTHING)
    assert (load.stated_kg, load.value_kg) == (20.0, pytest.approx(25.0))
    assert load.u_kg == pytest.approx(2.0 / np.sqrt(31.25))
    assert load.u95_kg == pytest.approx(1.96 * 2.0 / np.sqrt(31.25))
    assert _columns(curves).fitted([], curves.covariance_n2, NOTHING) == ()


def test_points_that_disagree_have_the_weight_that_the_floor_leaves_them() -> None:
    """A floor of 0.0005 of 145 N: with three times its square and none, weights of 1/4 and 1.

    The points read 5 and 6 kg more where a kilogram is 5 and 2.5 N: (5 x 25 / 4 + 2.5 x 15) / (25 / 4 + 6.25) = 5.5 kg.
    """
    curves = _curves([0.0, 60.0], [20.0], [20.0], covariance_n2=np.diag([3.0 * 0.0725**2, 0.0]))
    curves = replace(curves, force_n=curves.force_n + np.array([25.0, 15.0]))
    assert curves.peak_n == pytest.approx(145.0)
    (load,) = _columns(curves).fitted([0], curves.covariance_n2, NOTHING)
    assert load.value_kg == pytest.approx(25.5)


def test_what_was_stated_of_a_load_says_nothing_about_the_one_that_was_there() -> None:
    """A mass known to 0.1 kg moves the points by 0.5 and 0.25 N together; that part of the covariance is left out."""
    part = np.outer([0.5, 0.25], [0.5, 0.25])
    curves = _curves([0.0, 60.0], [20.0], [25.0], covariance_n2=4.0 * np.eye(2) + part, mass_n2=part)
    (load,) = _columns(curves).fitted([0], curves.covariance_n2, NOTHING)
    assert load.u_kg == pytest.approx(2.0 / np.sqrt(31.25))
    # Known to less than nothing only by rounding: zero.
    curves = _curves([0.0, 60.0], [20.0], [25.0], mass_n2=(4.0 + 1e-9) * np.eye(2))
    assert _columns(curves).fitted([0], curves.covariance_n2, NOTHING)[0].u_kg == 0.0


def test_a_dimension_set_free_beside_a_load_costs_certainty() -> None:
    """Two points, two unknowns: with a shape of 1 and -1 N the sum of both points gives the load, 7.5 N/kg."""
    curves = _curves([0.0, 60.0], [20.0], [25.0])
    (load,) = _columns(curves).fitted([0], curves.covariance_n2, np.array([[1.0], [-1.0]]))
    assert load.value_kg == pytest.approx(25.0)
    assert load.u_kg == pytest.approx(2.0 * np.sqrt(2.0) / 7.5)


def test_each_of_two_loads_is_fitted_to_its_own_curve_and_none_is_below_nothing() -> None:
    curves = _curves([0.0, 60.0], [20.0, 40.0], [25.0, -2.0])
    first, second = _columns(curves).fitted([0, 1], curves.covariance_n2, np.zeros((4, 0)))
    assert (first.stated_kg, first.value_kg) == (20.0, pytest.approx(25.0))
    assert (second.stated_kg, second.value_kg) == (40.0, 0.0)
    (second,) = _columns(curves).fitted([1], curves.covariance_n2, np.zeros((4, 0)))
    assert second.stated_kg == 40.0


def _check(
    there_kg: list[float], stated_kg: list[float], sd_n: float, gravity: Gravity = G, peg_m: float = 0.25
) -> Agreement:
    """Agreement over 31 angles from 0° to 60°, every point measured by itself to `sd_n`."""
    q = np.radians(np.linspace(0.0, 60.0, 31))
    static = np.array([20.0 * np.cos(q) + 20.0 * load * peg_m * np.cos(q) for load in there_kg])
    estimate = built_estimate(
        q, static, stated_kg, u_start_angle_rad=0.0, covariance_n2=sd_n**2 * np.eye(static.size)
    )
    return check_agreement(estimate, parse_machine(LEVER), gravity=gravity, trials=200)


def test_gravity_limits_how_well_a_dimension_is_found() -> None:
    """In units of g cos q, 5 mm of the peg are 0.4: it is surveyed to 0.4 and measured to be 0.2 more.

    Gravity makes the measured 22 uncertain by 0.3, all points together: 0.2 x 0.4² / (0.4² + 0.3²) = 0.128 more, with
    an uncertainty of 0.4 x 0.3 / 0.5 = 0.24.
    """
    agreement = _check([40.0], [40.0], 1e-3, Gravity(10.0, 0.3 / 22.0 * 10.0, ""), peg_m=0.2525)
    assert agreement.verdict is AgreementVerdict.AGREES
    (peg,) = agreement.fitted
    assert peg.shift == pytest.approx(0.0016, rel=1e-3)
    assert peg.u == pytest.approx(0.003, rel=1e-3)
    assert agreement.explanation.causes == ()


def test_no_machine_is_trusted_below_a_part_of_its_peak() -> None:
    """Measured without error, a peg is known to 0.0005 of 220 N at each point: each has 800 cos q N per metre."""
    (peg,) = _check([40.0], [40.0], 1e-6).fitted
    cosines = np.cos(np.radians(np.linspace(0.0, 60.0, 31)))
    assert peg.u == pytest.approx(0.11 / 800.0 / np.sqrt(np.sum(cosines**2)), rel=1e-2)


def test_of_a_load_and_its_place_the_load_is_looked_at_first() -> None:
    """43 kg instead of 40 kg bend the only curve as a peg 18.75 mm further out does, which is nearer to its survey."""
    agreement = _check([43.0], [40.0], 0.1)
    assert agreement.verdict is AgreementVerdict.DIFFERS
    (load,) = agreement.explanation.loads
    assert (load.stated_kg, load.value_kg) == (40.0, pytest.approx(43.0, abs=0.01))
    # The peg is surveyed to 2 %, all along the curve: so much of 43 kg stays open, whatever the number of points.
    assert load.u_kg == pytest.approx(0.86, rel=0.02)
    assert agreement.explanation.causes == ()
    assert agreement.explanation.tied == (CauseSet((PEG,)),)
    assert agreement.explanation.load_instead is None
    # The machine that is left has the other load on it.
    assert agreement.residual_n == pytest.approx(np.zeros(31), abs=0.05)


def test_of_two_loads_the_other_one_stays_as_stated() -> None:
    agreement = _check([20.0, 47.0], [20.0, 40.0], 0.1)
    assert [(load.stated_kg, round(load.value_kg, 2)) for load in agreement.explanation.loads] == [
        (40.0, 47.0)
    ]
    assert agreement.residual_n == pytest.approx(np.zeros(62), abs=0.05)


@pytest.mark.parametrize(("there_kg", "named"), [(41.9, False), (42.1, True), (38.1, False), (37.9, True)])
def test_less_than_two_kilograms_are_no_other_load(there_kg: float, named: bool) -> None:
    assert bool(_check([there_kg], [40.0], 1e-3).explanation.loads) == named


def _dimension(shift: float, blunder: float = 0.05) -> FittedDimension:
    (surveyed,) = [p for p in parse_machine(LEVER).parameters if p.key == PEG]
    assert (surveyed.u, surveyed.blunder) == (pytest.approx(0.005), pytest.approx(blunder))
    return FittedDimension(surveyed, surveyed.value + shift, 0.001)


def test_a_load_further_out_could_be_a_heavier_one() -> None:
    """The peg 20 mm further out than 250 mm, or a load 8 % heavier."""
    machine, peg = parse_machine(LEVER), _dimension(0.02)
    sets = [CauseSet((PEG,)), CauseSet((), (40.0,))]
    found = explain(machine, [peg], (), sets, None)
    assert (found.causes, found.tied, found.remaining) == ((peg,), (CauseSet((), (40.0,)),), None)
    assert found.load_instead == LoadInstead("plates", pytest.approx(0.08))
    arm = ParameterKey("radius", "arm")
    (surveyed,) = [p for p in machine.parameters if p.key == arm]
    moved = FittedDimension(surveyed, 0.26, 0.001)
    for keys in ((arm,), (PEG, arm)):
        assert explain(machine, [peg, moved], (), [CauseSet(keys)], None).load_instead is None


@pytest.mark.parametrize(("shift", "kept"), [(0.049, True), (-0.049, True), (0.051, False), (-0.051, False)])
def test_what_explains_too_little_is_named_only_if_a_survey_could_be_so_wrong(
    shift: float, kept: bool
) -> None:
    """A length is misread by 50 mm at most."""
    peg, left = _dimension(shift), CurvePoint(40.0, 0.5, 12.0)
    found = explain(parse_machine(LEVER), [peg], (), [CauseSet((PEG,)), CauseSet((), (40.0,))], left)
    assert found == Explanation((peg,) if kept else (), (), remaining=left)


def test_angles_of_every_load_are_tested_in_their_order() -> None:
    curves = _curves([0.0, 10.0, 20.0], [10.0, 20.0, 30.0], [10.0, 20.0, 30.0])
    assert curves.tested.tolist() == list(range(9))
    many = _curves(np.linspace(0.0, 60.0, 79).tolist(), [20.0, 40.0], [20.0, 40.0])
    # Every second of 79 angles: 40 of each load.
    assert many.tested.tolist() == [*range(0, 79, 2), *range(79, 158, 2)]
    assert many.tested_q_rad == pytest.approx(many.q_rad[::2])
    assert many.peak_n == pytest.approx(220.0)
