"""What the page of a predicted machine says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.prediction.figures import arms_figure, varied_figure
from feltload.app.pages.report.curves import load_curves
from feltload.app.pages.report.figures import friction_figure, profile_figure
from feltload.app.pages.report.machine_view import machine_drawing
from feltload.app.pages.report.rows import budget_rows, load_row
from feltload.app.pages.report.view import BudgetRow, LoadRow
from feltload.app.pages.target_view import TargetView, target_view
from feltload.app.text.cautions import BEFORE_USING_THE_RESULT
from feltload.app.text.facts import describe_fully
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.machine.profile import describe_headline
from feltload.app.text.numbers import force_unit, force_with_band, load_text
from feltload.app.text.position import describe_positions_column
from feltload.app.text.predicted.bands import FRICTION_BAND, PROFILE_BAND
from feltload.app.text.predicted.prediction import (
    KICKER,
    describe_felt_mass,
    describe_predicted_band,
    describe_predicted_friction,
    describe_predicted_making,
    describe_predicted_scope,
    prediction_key_figures,
)
from feltload.app.text.predicted.variants import variant_difference, variant_values, varied_names
from feltload.signal import describe_shape

if TYPE_CHECKING:
    from feltload.app.jobs.predicting.prediction import PredictedMachine


@dataclass(frozen=True)
class VariantRow:
    """One variant in a line of the table."""

    number: int
    values: tuple[str, ...]
    load: str
    heaviest: str
    drop_off: str
    difference: str


@dataclass(frozen=True)
class PredictionView:
    """The whole page, top to bottom."""

    kicker: str
    machine: str
    summary: str
    force_unit: str
    headline: str
    facts: tuple[KeyFigure, ...]
    warnings: tuple[str, ...]
    targets: TargetView | None
    profile_figure: Drawing
    loads: tuple[LoadRow, ...]
    positions: str
    machine_drawing: Drawing
    arms: Drawing
    felt_mass: str
    friction_words: str
    friction_figure: Drawing | None
    varied: tuple[Drawing, ...]
    variants: tuple[VariantRow, ...]
    varied_names: tuple[str, ...]
    budget: tuple[BudgetRow, ...]
    budget_words: str
    cautions: tuple[str, ...]
    made_with: tuple[tuple[str, str], ...]


def build_prediction(predicted: PredictedMachine) -> PredictionView:
    """Put a prediction into words and figures."""
    prediction = predicted.prediction
    estimate = prediction.estimate
    # What a file states of friction varies with the geometry alone: a bump of it is no tight spot.
    curves = [replace(curve, spots=()) for curve in load_curves(estimate)]
    shapes = [describe_shape(estimate, index) for index in range(estimate.loads_kg.size)]
    top = int(np.argmax(estimate.loads_kg))
    return PredictionView(
        kicker=KICKER,
        machine=estimate.machine_name,
        summary=describe_predicted_scope(estimate),
        force_unit=str(force_unit()),
        headline=describe_headline(shapes[top], estimate.travel),
        facts=prediction_key_figures(prediction, top, shapes[top]),
        warnings=tuple(describe_fully(fact) for fact in estimate.warnings),
        targets=target_view(estimate, predicted.judgements),
        profile_figure=profile_figure(estimate.travel, curves, shaded=PROFILE_BAND),
        loads=tuple(load_row(shape, estimate.travel) for shape in shapes),
        positions=describe_positions_column(estimate.travel).replace("measured travel", "travel"),
        machine_drawing=machine_drawing(estimate, prediction.machine),
        arms=arms_figure(prediction),
        felt_mass=describe_felt_mass(prediction),
        friction_words=describe_predicted_friction(estimate),
        friction_figure=friction_figure(estimate.travel, curves, shaded=FRICTION_BAND),
        varied=tuple(
            varied_figure(prediction, predicted.varied, predicted.variants, index)
            for index in range(estimate.loads_kg.size)
            if predicted.variants
        ),
        variants=_variant_rows(predicted),
        varied_names=varied_names(predicted.variants[0]) if predicted.variants else (),
        budget=budget_rows(estimate.budget),
        budget_words=describe_predicted_band(estimate),
        cautions=BEFORE_USING_THE_RESULT,
        made_with=describe_predicted_making(predicted),
    )


def _variant_rows(predicted: PredictedMachine) -> tuple[VariantRow, ...]:
    loads = predicted.prediction.estimate.loads_kg
    rows = []
    for number, variant in enumerate(predicted.variants, start=1):
        for k, (load, force) in enumerate(zip(loads, variant.static_n, strict=True)):
            top = int(np.argmax(force))
            drop = 100.0 * (force[top] - force[-1]) / max(abs(float(force[top])), 1e-9)
            share = 100.0 * variant.travel.share(float(variant.travel.angle_rad[top]))
            rows.append(
                VariantRow(
                    number,
                    variant_values(variant),
                    load_text(float(load)),
                    f"{force_with_band(float(force[top]), float(variant.static_u95_n[k, top]))} at {share:.0f} %",
                    f"{drop:.0f} %",
                    variant_difference(variant, k).removeprefix("differs "),
                )
            )
    return tuple(rows)
