"""What the page of a surveyed machine says."""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.figure import Figure

from feltload.app.pages.canvas import Drawing, Sheet, draw
from feltload.app.pages.survey.figures import predicted_figure, sensitivity_figure
from feltload.app.text.cautions import BEFORE_LOADING
from feltload.app.text.machine.dimensions import dimension_name, dimension_value
from feltload.app.text.machine.measuring import how_to_measure
from feltload.app.text.machine.survey import MACHINE_CAPTION, effect_text, predicted_headline
from feltload.app.text.numbers import load_text
from feltload.calibration import Machine, SurveyPlan, reference_of, side_view
from feltload.signal import Travel, travel_of


@dataclass(frozen=True)
class DimensionRow:
    """One dimension in a line of the table."""

    name: str
    value: str
    effect: str
    how: str


@dataclass(frozen=True)
class SurveyView:
    """The whole page, top to bottom."""

    title: str
    sentence: str
    predicted: Drawing
    sensitivities: Drawing
    machine: Drawing
    rows: tuple[DimensionRow, ...]
    cautions: tuple[str, ...]


def build_survey(machine: Machine, plan: SurveyPlan) -> SurveyView:
    """Put a survey into words and figures."""
    travel = survey_travel(machine, plan)
    return SurveyView(
        title=machine.name,
        sentence=predicted_headline(plan, travel),
        predicted=predicted_figure(plan, travel),
        sensitivities=sensitivity_figure(plan, travel),
        machine=_machine_figure(machine, plan),
        rows=tuple(
            DimensionRow(
                dimension_name(item.parameter.key),
                dimension_value(item.parameter),
                effect_text(item),
                how_to_measure(item.parameter.key.dotted),
            )
            for item in plan.items
        ),
        cautions=BEFORE_LOADING,
    )


def survey_travel(machine: Machine, plan: SurveyPlan) -> Travel:
    """The travel that a survey is along."""
    reference = reference_of(machine)
    return travel_of(reference, reference.start_angle_rad + plan.q_rad)


def _machine_figure(machine: Machine, plan: SurveyPlan) -> Drawing:
    far_rad = float(plan.q_rad[-1] if plan.q_rad[-1] > 0.0 else plan.q_rad[0])

    def plot(figure: Figure, sheet: Sheet) -> None:
        label = load_text(plan.load_kg)
        side_view(figure.subplots(), machine, travel_rad=far_rad, load_kg=plan.load_kg, load_label=label)

    return draw(
        "machine",
        f"Side view of {machine.name} on its start stop and through its travel.",
        MACHINE_CAPTION,
        plot,
    )
