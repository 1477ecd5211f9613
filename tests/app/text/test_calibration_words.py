"""Sentences about surveyed dimensions and agreements: what a person reads of typed results."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

import rig_agreement as chain
import study_agreement as study
from feltload.app.text.agreement import agreement_text, swing_text
from feltload.app.text.dimensions import change_in_words, dimension_name, dimension_value
from feltload.app.text.survey import how_to_measure, survey_text
from feltload.calibration import (
    START_ANGLE,
    FittedDimension,
    Parameter,
    ParameterKey,
    Swing,
    SwingCheck,
    check_agreement,
    example_text,
    parse_machine,
    plan_survey,
)

PEG = Parameter(ParameterKey("radius", "plates"), 0.27, 0.003, "mm", 0.001, u_is_default=False)


def test_a_dimension_in_the_unit_it_was_written_in() -> None:
    assert dimension_name(PEG.key) == "plates radius"
    assert dimension_name(START_ANGLE) == "start angle"
    assert dimension_value(PEG) == "270.0(3.0) mm"
    angle = Parameter(
        START_ANGLE, np.radians(-25.0), np.radians(0.3), "deg", np.radians(1.0), u_is_default=False
    )
    assert dimension_value(angle) == "-25.00(30)°"


@pytest.mark.parametrize(("shift", "words"), [(0.015, "15 mm further out"), (-0.015, "15 mm further in")])
def test_a_moved_peg(shift: float, words: str) -> None:
    text = change_in_words(FittedDimension(PEG, PEG.value + shift, 0.002))
    assert text.startswith(f"plates radius {words} than surveyed (")
    assert "not 270.0(3.0) mm; 5.0 standard uncertainties" in text


def test_a_difference_its_cause_and_its_alternative() -> None:
    case = next(
        case for seed in range(2000, 2008) if (case := study.one_case(seed, 0.015))["changed"] == (chain.PEG,)
    )
    text = agreement_text(case["agreement"])
    assert text.startswith("The measured force differs from the surveyed geometry: ")
    assert "It is explained if plates radius" in text
    assert "further out than surveyed" in text
    assert "Weigh the plates too" in text


def _measured(seed: int = 7):
    machine = parse_machine(study.LEVER)
    return study.measured(machine, machine.values[START_ANGLE], np.random.default_rng(seed)), machine


def test_what_geometry_cannot_explain_names_its_place() -> None:
    estimate, machine = _measured()
    bump = 12.0 * np.exp(-0.5 * ((np.degrees(estimate.angle_rad) - 20.0) / 4.0) ** 2)
    rubbing = dataclasses.replace(estimate, static_n=estimate.static_n + bump)
    text = agreement_text(check_agreement(rubbing, machine, gravity=chain.GRAVITY))
    assert "which geometry cannot explain" in text
    assert "No change of up to three dimensions explains it: after the best fit +" in text


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
    assert f"How: {how_to_measure(ParameterKey('radius', 'plates'))}." in peg
    assert "% of the peak per mm; know it to" in peg
    (start,) = [line for line in lines if line.startswith("- start angle:")]
    assert "hardly matters to the force at rest" in start
