"""What the page of a predicted machine says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.prediction.figures import arms_figure, varied_figure
from feltload.app.pages.report.machine_view import machine_drawing
from feltload.app.pages.report.profile_fields import profile_fields
from feltload.app.pages.report.view import ProfileView
from feltload.app.text.facts import describe_fully
from feltload.app.text.numbers import force_with_band, load_text
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
class PredictionView(ProfileView):
    """The whole page of a prediction."""

    kicker: str
    arms: Drawing
    felt_mass: str
    varied: tuple[Drawing, ...]
    variants: tuple[VariantRow, ...]
    varied_names: tuple[str, ...]


def build_prediction(predicted: PredictedMachine) -> PredictionView:
    """Put a prediction into words and figures."""
    prediction = predicted.prediction
    estimate = prediction.estimate
    shape = describe_shape(estimate, int(np.argmax(estimate.loads_kg)))
    return PredictionView(
        **profile_fields(estimate, predicted.judgements),
        kicker=KICKER,
        summary=describe_predicted_scope(estimate),
        facts=prediction_key_figures(prediction, shape),
        warnings=tuple(describe_fully(fact) for fact in estimate.warnings),
        machine_drawing=machine_drawing(estimate, prediction.machine),
        arms=arms_figure(prediction),
        felt_mass=describe_felt_mass(prediction),
        friction_words=describe_predicted_friction(estimate),
        varied=tuple(
            varied_figure(prediction, predicted.varied, predicted.variants, index)
            for index in range(estimate.loads_kg.size)
            if predicted.variants
        ),
        variants=_variant_rows(predicted),
        varied_names=varied_names(predicted.variants[0]) if predicted.variants else (),
        budget_words=describe_predicted_band(estimate),
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
