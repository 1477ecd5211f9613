"""Agreement: false alarms, a wrong peg found and named, its file, and propagated uncertainty."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import GTC
import numpy as np
import pytest

import rig_agreement as chain
import study_agreement as study
from feltload.calibration.agreement.compare import check_agreement
from feltload.calibration.agreement.contrasts import Contrasts
from feltload.calibration.agreement.explanation import ExplanationKind
from feltload.calibration.agreement.record import write_agreement
from feltload.calibration.agreement.result import AgreementVerdict
from feltload.calibration.errors import AgreementError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.model_band import model_band
from feltload.calibration.machine.parameters import START_ANGLE, ParameterKey
from feltload.signal import BudgetSource


def test_first_order_band_matches_gtc() -> None:
    # GTC (reference library for GUM uncertainty propagation) on the lever's closed form.
    machine = parse_machine(study.LEVER)
    q = np.radians([5.0, 40.0, 75.0])
    band = model_band(machine, q, np.array([40.0]), 9.80665, 3e-4)
    values = {p.key: GTC.ureal(p.value, p.u) for p in machine.parameters}
    g = GTC.ureal(9.80665, 3e-4)

    def of(dimension: str, part: str = "") -> GTC.lib.UncertainReal:
        return values[ParameterKey(dimension, part)]

    for i, turn in enumerate(q):
        moment = 40.0 * of("radius", "plates") * GTC.cos(of("angle", "plates") + turn)
        moment = moment + of("mass", "arm") * of("radius", "arm") * GTC.cos(of("angle", "arm") + turn)
        force = g * GTC.cos(of("hinge_inclination")) * moment / of("handle_radius")
        assert band.force_n[i] == pytest.approx(force.x, rel=1e-12)
        assert np.sqrt(band.covariance_n2[i, i]) == pytest.approx(force.u, rel=1e-4)
    assert band.first_order


def test_monte_carlo_takes_over_where_first_order_fails() -> None:
    # Mass straight over the pivot: cos(90° ± 8°) bends, JCGM 101 intervals are not those of first order.
    machine = parse_machine(
        study.LEVER.replace('angle = "13.0(0.8) deg"', 'angle = "-40(25) deg"').replace(
            "-21.0(0.8)", "-40(25)"
        )
    )
    band = model_band(machine, np.radians([40.0, 41.0]), np.array([40.0]), 9.80665, 0.0)
    assert not band.first_order
    assert (np.diag(band.covariance_n2) > np.sum(band.shapes_n**2, axis=1)).all()


def test_simultaneous_test_has_its_level() -> None:
    rng = np.random.default_rng(5)
    x = np.linspace(0, 1, 30)
    covariance = np.exp(-0.5 * ((x[:, None] - x) / 0.2) ** 2) + 0.5
    shapes = np.column_stack([np.ones(30), x, x**2])
    root = np.linalg.cholesky(covariance + 1e-9 * np.eye(30))
    alarms = sum(
        Contrasts(root @ rng.standard_normal(30), covariance, shapes, 10.0, seed=i).test().p_value <= 0.05
        for i in range(200)
    )
    # 200 trials at 5 %: 10 expected, standard deviation 3.1.
    assert 2 <= alarms <= 20


def test_a_right_survey_is_not_accused() -> None:
    cases = [study.one_case(seed, 0.0) for seed in range(1000, 1008)]
    assert sum(case["verdict"] == "differs" for case in cases) <= 2
    assert all(case["verdict"] != "inconclusive" for case in cases)


@pytest.fixture(scope="module")
def wrong_pegs() -> list[dict[str, object]]:
    """Eight drawn surveys with the plates' peg 15 mm from where it is."""
    return [study.one_case(seed, 0.015) for seed in range(2000, 2008)]


def test_a_wrong_peg_is_found_and_named(wrong_pegs: list[dict[str, object]]) -> None:
    named = [case for case in wrong_pegs if case["changed"] == (chain.PEG,)]
    assert len(named) >= 7
    missed = []
    for case in named:
        (cause,) = case["agreement"].explanation.causes
        assert cause.shift == pytest.approx(0.015, abs=0.005)
        missed.append((cause.shift - 0.015) / cause.u)
        # A load further out and a heavier load have the same moment.
        instead = case["agreement"].explanation.load_instead
        assert instead.part == "plates"
        assert instead.relative == pytest.approx(cause.shift / cause.surveyed.value)
    # Errors are as large as stated, no less and no more: chi-squared of eight, 99 % of draws.
    assert 0.4 < np.sqrt(np.mean(np.square(missed))) < 1.66


@pytest.fixture(scope="module")
def through_the_chain() -> list[list[dict[str, object]]]:
    """Right and wrong surveys of the emulated machine, measured with emulated sensors at two loads."""
    return [
        [chain.emulated_case(seed, error_m) for seed in range(first, first + 4)]
        for first, error_m in ((3000, 0.0), (4000, 0.015))
    ]


def test_a_right_survey_is_not_accused_by_emulated_sensors(
    through_the_chain: list[list[dict[str, object]]],
) -> None:
    right, _ = through_the_chain
    assert sum(case["verdict"] != "agrees" for case in right) <= 1
    # The estimator's own budget item of the start angle was found: check_agreement refuses otherwise.
    assert all(case["band_percent"] < 2.0 for case in right)


def test_a_wrong_peg_is_found_and_named_by_emulated_sensors(
    through_the_chain: list[list[dict[str, object]]],
) -> None:
    _, wrong = through_the_chain
    assert sum(case["changed"] == (chain.PEG,) for case in wrong) >= 3
    named = next(case for case in wrong if case["changed"] == (chain.PEG,))
    # Drawn peg error of 2 mm on top of the 15 mm.
    assert 7.0 < named["peg_shift_mm"] < 23.0


def _case(seed: int = 7) -> tuple[object, object]:
    rng = np.random.default_rng(seed)
    machine = parse_machine(study.LEVER)
    return study.measured(machine, machine.values[START_ANGLE], rng), machine


def test_wide_bands_are_inconclusive() -> None:
    estimate, machine = _case()
    wide = dataclasses.replace(
        estimate,
        covariance_n2=estimate.covariance_n2 * 400.0,
        static_u95_n=estimate.static_u95_n * 20.0,
        budget=(),
        u_start_angle_rad=0.0,
    )
    result = check_agreement(wide, machine, gravity=chain.GRAVITY)
    assert result.verdict is AgreementVerdict.INCONCLUSIVE
    assert result.explanation_kind is ExplanationKind.BANDS_TOO_WIDE


def test_few_angles_are_enough_and_fewer_are_not() -> None:
    """Five angles that both loads cover, each with its band; a sixth without a band does not count."""
    estimate, machine = _case()
    force, band = estimate.static_n.copy(), estimate.static_u95_n.copy()
    force[0, 6:] = band[1, 5] = np.nan
    five = dataclasses.replace(estimate, static_n=force, static_u95_n=band)
    result = check_agreement(five, machine)
    assert result.angle_rad == pytest.approx(np.tile(estimate.angle_rad[:5], 2))
    assert result.load_kg == pytest.approx(np.repeat(estimate.loads_kg, 5))
    # Without a place, the gravity of an unknown one, which is uncertain.
    assert result.g_u_m_s2 > 0.01
    band[0, 0] = np.nan
    with pytest.raises(AgreementError, match="has 4 angles"):
        check_agreement(dataclasses.replace(five, static_u95_n=band), machine)


def test_the_measurement_has_its_own_uncertainty_without_the_label() -> None:
    """Variance of the drawn profile less the square of what the start angle's label adds to it."""
    estimate, machine = _case()
    result = check_agreement(estimate, machine, gravity=chain.GRAVITY)
    (label,) = [item for item in estimate.budget if item.source == BudgetSource.START_ANGLE]
    left = np.diag(estimate.covariance_n2) - np.square(label.curve_n.ravel())
    assert result.measured_u_n == pytest.approx(np.sqrt(left), rel=1e-9)
    assert (result.g_m_s2, result.g_u_m_s2) == (chain.GRAVITY.value, chain.GRAVITY.u)


@pytest.mark.parametrize("at", [0, -1])
def test_the_ends_of_the_travel_are_tested(at: int) -> None:
    estimate, machine = _case()
    force = estimate.static_n.copy()
    force[0, at] += 15.0
    result = check_agreement(dataclasses.replace(estimate, static_n=force), machine, gravity=chain.GRAVITY)
    assert result.verdict is AgreementVerdict.DIFFERS
    assert result.explanation.remaining.angle_rad == estimate.angle_rad[at]
    assert result.explanation.remaining.load_kg == estimate.loads_kg[0]


def test_the_start_angle_is_counted_once() -> None:
    # The label's own error must not widen the comparison at given rotation.
    estimate, machine = _case()
    label = next(item for item in estimate.budget if item.source == BudgetSource.START_ANGLE)
    without = dataclasses.replace(
        estimate,
        covariance_n2=estimate.covariance_n2 - np.outer(label.curve_n.ravel(), label.curve_n.ravel()),
        budget=tuple(item for item in estimate.budget if item is not label),
        u_start_angle_rad=0.0,
    )
    gravity = chain.GRAVITY
    assert check_agreement(estimate, machine, gravity=gravity).en == pytest.approx(
        check_agreement(without, machine, gravity=gravity).en
    )


def test_a_budget_that_hides_the_start_angle_is_refused() -> None:
    estimate, machine = _case()
    unnamed = dataclasses.replace(
        estimate, budget=tuple(item for item in estimate.budget if item.source != BudgetSource.START_ANGLE)
    )
    with pytest.raises(AgreementError, match="lists the start angle 0 times instead of once"):
        check_agreement(unnamed, machine, gravity=chain.GRAVITY)


def test_what_geometry_cannot_explain_is_shown_where_it_is() -> None:
    estimate, machine = _case()
    bump = 12.0 * np.exp(-0.5 * ((np.degrees(estimate.angle_rad) - 20.0) / 4.0) ** 2)
    rubbing = dataclasses.replace(estimate, static_n=estimate.static_n + bump)
    result = check_agreement(rubbing, machine, gravity=chain.GRAVITY)
    assert result.verdict is AgreementVerdict.DIFFERS
    assert result.explanation_kind is ExplanationKind.BEYOND_DIMENSIONS
    remaining = result.explanation.remaining
    assert np.degrees(remaining.angle_rad) == pytest.approx(20.0, abs=3.0)
    assert 0.0 < remaining.difference_n < 13.0


def test_what_remains_is_shown_where_it_stands_out_most() -> None:
    """12 N at 10° where the measurement is good to 10 N, and 8 N at 45° where it is good to 1 N."""
    estimate, machine = _case()
    degrees = np.tile(np.degrees(estimate.angle_rad), estimate.loads_kg.size)

    def at(centre: float) -> np.ndarray:
        return np.exp(-0.5 * ((degrees - centre) / 3.0) ** 2)

    rubbing = dataclasses.replace(
        estimate,
        static_n=estimate.static_n + (12.0 * at(10.0) + 8.0 * at(45.0)).reshape(estimate.static_n.shape),
        covariance_n2=estimate.covariance_n2 + np.diag(np.square(10.0 * at(10.0))),
    )
    remaining = check_agreement(rubbing, machine, gravity=chain.GRAVITY).explanation.remaining
    assert np.degrees(remaining.angle_rad) == pytest.approx(45.0, abs=3.0)


def test_written_file_has_the_agreed_keys(tmp_path: Path) -> None:
    estimate, machine = _case()
    path = write_agreement(tmp_path, check_agreement(estimate, machine, gravity=chain.GRAVITY))
    data = json.loads(path.read_text(encoding="utf-8"))
    assert {"verdict", "en_max", "angle_deg", "measured_n", "model_n", "en", "fitted", "explanation"} <= set(
        data
    )
    assert set(data["fitted"][0]) == {
        "name",
        "surveyed",
        "surveyed_u",
        "fitted",
        "fitted_u",
        "unit",
        "shift_in_u",
    }
    sizes = {len(data[key]) for key in ("angle_deg", "measured_n", "model_n", "en", "load_kg")}
    assert sizes == {estimate.static_n.size}
    assert (data["verdict"], data["explanation"]["kind"]) == ("agrees", "nothing-differs")


def test_columns_of_the_file_reproduce_its_en(tmp_path: Path) -> None:
    # E_n of ISO/IEC 17043:2010, annex B.3.1.3: difference over the root of the squared expanded uncertainties, k = 2.
    estimate, machine = _case()
    agreement = check_agreement(estimate, machine, gravity=chain.GRAVITY)
    data = json.loads(write_agreement(tmp_path, agreement).read_text(encoding="utf-8"))
    difference = np.subtract(data["measured_n"], data["model_n"])
    together = np.hypot(data["measured_expanded_u_n"], data["model_expanded_u_n"])
    assert data["en"] == pytest.approx(difference / together, rel=1e-12)
    assert data["en_max"] == max(map(abs, data["en"]))
    # The 95 % band of the model beside it is 1.96 u, not 2 u.
    assert data["coverage_factor"] == 2.0
    ratio = np.divide(data["model_u95_n"], data["model_expanded_u_n"])
    assert ratio == pytest.approx(np.full(ratio.size, 1.96 / 2.0), rel=1e-4)


def test_explanation_in_the_file_names_dimensions_and_figures(
    wrong_pegs: list[dict[str, object]], tmp_path: Path
) -> None:
    case = next(case for case in wrong_pegs if case["changed"] == (chain.PEG,))
    data = json.loads(write_agreement(tmp_path, case["agreement"]).read_text(encoding="utf-8"))
    assert data["explanation"]["kind"] == "dimensions-moved"
    (cause,) = data["explanation"]["causes"]
    (fitted,) = [row for row in data["fitted"] if row["name"] == "plates.radius"]
    assert cause["name"] == "plates.radius"
    assert cause["shift_si"] == pytest.approx(1e-3 * (fitted["fitted"] - fitted["surveyed"]))
    assert cause["shift_in_u"] == pytest.approx(fitted["shift_in_u"])


def test_uncovered_profile_is_refused() -> None:
    estimate, machine = _case()
    nothing = dataclasses.replace(estimate, static_n=np.full_like(estimate.static_n, np.nan))
    with pytest.raises(AgreementError, match="record both loads through the same travel"):
        check_agreement(nothing, machine)
