"""The page of a surveyed machine, every mechanism: curve, band and sensitivities against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.app.pages.page import render_survey
from feltload.app.pages.survey.figures import sensitivity_panels
from feltload.app.pages.survey.view import build_survey, survey_travel
from feltload.app.text.machine.survey import predicted_headline
from feltload.calibration import MECHANISMS, example_text, parse_machine, plan_survey

G = 9.80665


def test_sensitivities_of_a_lever_are_those_of_its_moments() -> None:
    machine = parse_machine(example_text("lever"))
    plan = plan_survey(machine, load_kg=40.0, travel_rad=np.radians(60.0))
    curves = {name: curve for panel in sensitivity_panels(plan) for name, curve in panel.curves}
    radius = 40.0 * G * np.cos(np.radians(13.0) + plan.q_rad) / 0.655
    assert curves["plates radius"] == pytest.approx(1e-3 * radius, rel=1e-6)
    angle = -40.0 * G * 0.270 * np.sin(np.radians(13.0) + plan.q_rad) / 0.655
    assert curves["plates angle"] == pytest.approx(np.radians(1.0) * angle, rel=1e-4)
    assert curves["handle radius"] == pytest.approx(-1e-3 * plan.force_n / 0.655, rel=1e-4)


def test_the_band_is_what_the_sensitivities_add_up_to() -> None:
    plan = plan_survey(parse_machine(example_text("cable")), travel_rad=np.radians(60.0))
    effects = np.array(
        [item.effect_n_per_unit * item.parameter.u / item.parameter.per_unit for item in plan.items]
    )
    assert plan.u95_n == pytest.approx(1.96 * np.sqrt(np.sum(effects**2, axis=0)), rel=1e-3)


@pytest.mark.parametrize("kind", sorted(MECHANISMS))
def test_every_mechanism_has_sensitivities_that_part_in_grey(kind: str) -> None:
    panels = sensitivity_panels(plan_survey(parse_machine(example_text(kind)), travel_rad=np.radians(60.0)))
    assert panels
    # A dash of its own for each line of a panel.
    assert all(1 <= len(panel.curves) <= 4 for panel in panels)


@pytest.mark.parametrize("kind", ["cable", "straight-pull"])
def test_the_page_holds_its_figures_and_every_dimension(kind: str) -> None:
    machine = parse_machine(example_text(kind))
    plan = plan_survey(machine, travel_rad=np.radians(60.0))
    view = build_survey(machine, plan)
    assert len(view.rows) == len(plan.items)
    # Three figures, each for a desk and for a phone.
    assert render_survey(view).count("<svg role") == 6


def test_a_travel_the_other_way_round_is_predicted_too() -> None:
    machine = parse_machine(example_text("lever"))
    plan = plan_survey(machine, travel_rad=np.radians(-30.0))
    assert "predicted heaviest" in predicted_headline(plan, survey_travel(machine, plan))


def test_an_even_curve_has_no_heaviest_place() -> None:
    """A sled on an incline asks for the same force all along: weight times the sine of its slope."""
    machine = parse_machine(example_text("sled"))
    plan = plan_survey(machine, travel_rad=np.radians(60.0))
    headline = predicted_headline(plan, survey_travel(machine, plan))
    assert "even along the travel" in headline
    assert "heaviest" not in headline
