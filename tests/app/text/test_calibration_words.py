"""Sentences about surveyed dimensions and agreements: what a person reads of typed results."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

import rig_agreement as chain
import study_agreement as study
from feltload.app.files.provenance import FieldCheckState
from feltload.app.text.calibration import looks_like
from feltload.app.text.facts import describe
from feltload.app.text.inputs import describe_field_check
from feltload.app.text.machine.agreement import agreement_text, swing_text
from feltload.app.text.machine.dimensions import change_in_words, dimension_name, dimension_value
from feltload.app.text.machine.measuring import how_to_measure
from feltload.app.text.machine.survey import survey_text
from feltload.app.text.sensor.force_session import instruction_text, progress_text
from feltload.calibration import (
    START_ANGLE,
    FieldCheckFact,
    FittedDimension,
    ForceSession,
    Parameter,
    ParameterKey,
    Swing,
    SwingCheck,
    agreement_facts,
    check_agreement,
    example_text,
    parse_machine,
    plan_steps,
    plan_survey,
)
from feltload.core import Fact, parse_quantity

PEG = Parameter(ParameterKey("radius", "plates"), 0.27, 0.003, "mm", 0.001, u_is_default=False, blunder=0.05)


def test_a_dimension_in_the_unit_it_was_written_in() -> None:
    assert dimension_name(PEG.key) == "plates radius"
    assert dimension_name(START_ANGLE) == "start angle"
    assert dimension_value(PEG) == "270.0(3.0) mm"
    angle = Parameter(
        START_ANGLE,
        np.radians(-25.0),
        np.radians(0.3),
        "deg",
        np.radians(1.0),
        u_is_default=False,
        blunder=0.2,
    )
    assert dimension_value(angle) == "-25.00(30)°"


@pytest.mark.parametrize(("shift", "words"), [(0.015, "15 mm further out"), (-0.015, "15 mm further in")])
def test_a_moved_peg(shift: float, words: str) -> None:
    text = change_in_words(FittedDimension(PEG, PEG.value + shift, 0.002))
    assert text.startswith(f"plates radius is {words} than surveyed (")
    assert "not 270.0(3.0) mm; 5.0 standard uncertainties" in text


def test_a_difference_its_cause_and_its_alternative() -> None:
    case = next(
        case for seed in range(2000, 2008) if (case := study.one_case(seed, 0.015))["changed"] == (chain.PEG,)
    )
    text = agreement_text(case["agreement"])
    assert text.startswith("The measured force differs from the surveyed geometry: ")
    assert "It is explained if plates radius is " in text
    assert "further out than surveyed" in text
    assert "Weigh the plates too" in text


def _measured(seed: int = 7):
    machine = parse_machine(study.LEVER)
    return study.measured(machine, machine.values[START_ANGLE], np.random.default_rng(seed)), machine


def _tight_place(angle_deg: np.ndarray) -> np.ndarray:
    return 12.0 * np.exp(-0.5 * ((angle_deg - 20.0) / 4.0) ** 2)


def _plate_picked_up(angle_deg: np.ndarray) -> np.ndarray:
    return np.where(angle_deg > 20.0, 28.0, 0.0)


@pytest.mark.parametrize("more_n", [_tight_place, _plate_picked_up])
def test_what_geometry_cannot_explain_blames_neither_a_load_nor_a_dimension(more_n) -> None:
    estimate, machine = _measured()
    static = estimate.static_n + more_n(np.degrees(estimate.angle_rad))
    agreement = check_agreement(
        dataclasses.replace(estimate, static_n=static), machine, gravity=chain.GRAVITY, trials=200
    )
    text = agreement_text(agreement)
    assert text.startswith("The measured force differs from the surveyed geometry: ")
    assert "explains half of it: a part is missing from the machine file" in text
    assert "looks like" not in text
    assert "Closest" not in text
    # The curve after the fit is the machine file's own: none is bent into what the machine cannot be.
    np.testing.assert_allclose(agreement.residual_n, agreement.measured_n - agreement.model_n)


def test_a_wrong_load_leads_and_is_a_sum_of_plates_in_words_only() -> None:
    estimate, machine = _measured()
    said = dataclasses.replace(estimate, loads_kg=np.array([20.0, 30.0]))
    agreement = check_agreement(said, machine, gravity=chain.GRAVITY)
    text = agreement_text(agreement)
    assert text.startswith("The load looks like 40 kg (")
    assert "30 kg was stated. Check which plates were on it before anything else." in text
    (fact,) = agreement_facts(agreement)
    assert fact.figures["looks_like_kg"] != 40.0
    assert "the load looks like 40 kg" in describe(fact)


@pytest.mark.parametrize(
    ("value_kg", "u95_kg", "words"),
    [
        (39.5, 0.8, "looks like 40 kg (39.5 ± 0.8 kg by the machine file), 20 kg was stated"),
        (22.4, 0.3, "looks like 22.5 kg (22.4 ± 0.3 kg by the machine file), 20 kg was stated"),
        (9.3, 0.6, "looks like 20 lb (9.3 ± 0.6 kg by the machine file), 20 kg was stated"),
        (23.12, 0.02, "looks like 23.1 ± 0.1 kg by the machine file, 20 kg was stated"),
    ],
)
def test_a_load_in_words(value_kg: float, u95_kg: float, words: str) -> None:
    assert looks_like(value_kg, u95_kg, 20.0) == words


def test_wide_bands_and_default_uncertainties() -> None:
    estimate, _ = _measured()
    machine = parse_machine(study.LEVER.replace('"655(2) mm"', '"655 mm"'))
    wide = dataclasses.replace(
        estimate, covariance_n2=estimate.covariance_n2 * 400.0, budget=(), u_start_angle_rad=0.0
    )
    text = agreement_text(check_agreement(wide, machine, gravity=chain.GRAVITY))
    assert text.startswith("The bands are too wide to decide")
    assert text.endswith("Default uncertainties were used for handle radius.")


def test_free_swing() -> None:
    swing = Swing(moment_over_inertia=20.0, u=0.1, rest_rad=0.0, amplitude_rad=0.5, periods=9)
    assert "agrees with the surveyed arm's 20.100 1/s² (E_n −0.45)" in swing_text(
        SwingCheck(swing, 20.1, 0.05)
    )
    assert "differs from the surveyed arm's" in swing_text(SwingCheck(swing, 21.0, 0.05))


def test_survey_plan_says_how_and_how_well() -> None:
    lines = survey_text(plan_survey(parse_machine(example_text("lever")))).splitlines()
    (peg,) = [line for line in lines if line.startswith("- plates radius:")]
    assert f"How: {how_to_measure('plates.radius')}." in peg
    assert "% of the peak per mm; know it to" in peg
    (start,) = [line for line in lines if line.startswith("- start angle:")]
    assert "hardly matters to the force at rest" in start


def test_known_weights_on_the_cell() -> None:
    figures = {"weight": "10 kg", "measured_n": 100.06, "applied_n": 98.1, "en": 3.2}
    text = describe(Fact(FieldCheckFact.DIFFERS, stream="cell", figures=figures))
    assert text.startswith(
        "cell: Field check with 10 kg: 100.06 N measured, 98.10 N applied, E_n +3.20: do not use"
    )
    text = describe(Fact(FieldCheckFact.WITHOUT_CERTIFICATE, figures=figures))
    assert text.endswith("(+2.00 %); no certificate to judge by")


def test_a_field_check_of_an_older_result_keeps_its_sentence() -> None:
    older = FieldCheckState.model_validate_json(
        '{"stream": "cell", "weight": "10 kg", "at_s": 5.0, "applied_n": 98.1, "measured_n": 98.1, "en": 0.1,'
        ' "agrees": true, "text": "98.10 N measured, 98.10 N applied, E_n +0.10: the certificate still holds"}'
    )
    assert describe_field_check(older).startswith("Field check with 10 kg: 98.10 N measured")


def test_a_guided_session_asks_and_doubts() -> None:
    weights = [parse_quantity(f"{kg} kg", "mass") for kg in (5, 10, 15, 20, 25)]
    session = ForceSession(plan_steps(weights, rated_capacity_n=2000.0, positions_deg=(0.0,)), window_s=1.0)
    assert instruction_text(session) == "Turn the cell to 0°, then: series 1: nothing on the cell"
    time_s = np.arange(0.0, 3.0, 0.01)
    noise = np.random.default_rng(1).normal(0.0, 3.0, time_s.size)
    assert progress_text(session.feed(time_s[:20], noise[:20])) == "wait"
    assert progress_text(session.feed(time_s[20:], noise[20:])) == "stable: take it"
    session.take()
    assert instruction_text(session) == "series 1, rising: hang 5 kg in all"
    assert progress_text(session.feed(time_s, noise)).startswith(
        "the reading has not moved from the empty cell"
    )
    session.begin()
    assert progress_text(session.feed(time_s, 1000.0 * time_s)).startswith("drifting by +1e+03 in 1 s")
