"""A predicted profile in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.app.files.provenance import text_sha256
from feltload.app.text.facts import describe
from feltload.app.text.inputs import describe_gravity
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.machine.profile import describe_headline, shape_key_figures
from feltload.app.text.numbers import (
    NO_BREAK,
    force_text,
    force_with_band,
    listed,
    load_text,
)
from feltload.app.text.position import describe_length
from feltload.app.text.predicted.target import describe_judgement
from feltload.app.text.predicted.variants import describe_variant
from feltload.calibration import Prediction
from feltload.core import Floats
from feltload.signal import ProfileEstimate, Shape, describe_shape, mean_friction_n

if TYPE_CHECKING:
    from feltload.app.jobs.predicting.prediction import PredictedMachine

KICKER: Final = "Predicted from the machine's dimensions; nothing was measured under load"
NOT_STATED: Final = "not stated: the machine file names no losses, and no range was given"

ARMS_CAPTION: Final = (
    "Solid: the arm that the hand works with (handle travel per radian). Dashed: the arm that the load works with "
    "(its rise per radian). The load is felt in the ratio of the two."
)


def describe_predicted_scope(estimate: ProfileEstimate) -> str:
    """Loads and travel in one line."""
    loads = listed([load_text(float(load)) for load in estimate.loads_kg])
    return f"{loads} · {describe_length(estimate.travel)}"


def prediction_key_figures(prediction: Prediction, shape: Shape) -> tuple[KeyFigure, ...]:
    """Heaviest, drop-off and leverage of one load; no leverage where the machine carries none."""
    arms = prediction.arms
    figures = shape_key_figures(shape, prediction.estimate.travel)
    if not np.any(arms.load_m):
        return figures
    words = "weight felt at the handle per weight loaded, from start to end"
    return (*figures, KeyFigure("Leverage", _span(arms.leverage, ".2f"), words))


def describe_felt_mass(prediction: Prediction) -> str:
    """What the hand speeds up and slows down, at each load."""
    parts = [
        f"{_span(mass, '.0f')} kg with {load_text(float(load))}"
        for load, mass in zip(prediction.estimate.loads_kg, prediction.arms.felt_mass_kg, strict=True)
    ]
    return (
        f"A hand that moves the handle faster also speeds up a felt mass of {listed(parts)}, from start to end: "
        "quick repetitions feel heavier where they begin and lighter where they end."
    )


def _span(values: Floats, form: str) -> str:
    first, last = (f"{values[k]:z{form}}".replace("-", "−") for k in (0, -1))
    return first if first == last else f"{first} to {last}"


def describe_predicted_friction(estimate: ProfileEstimate) -> str:
    """What friction is expected to do, and where that comes from."""
    parts = [
        f"{_mean(estimate, index)} on average with {load_text(float(load))}"
        for index, load in enumerate(estimate.loads_kg)
        if np.isfinite(mean_friction_n(estimate, index)[0])
    ]
    if not parts:
        return f"Friction is {NOT_STATED}. Only a measurement tells it."
    return (
        f"Friction is expected to add {listed(parts)} on the way up, and to make the way down lighter by as much. "
        "It is expected, not measured."
    )


def _mean(estimate: ProfileEstimate, index: int) -> str:
    mean_n = float(np.nanmean(estimate.friction_n[index]))
    u95_n = float(np.nanmean(estimate.friction_u95_n[index]))
    return force_with_band(mean_n, u95_n) if u95_n > 0.0 else force_text(mean_n)


def describe_predicted_band(estimate: ProfileEstimate) -> str:
    """Band of the heaviest load, and how to read the budget below it."""
    top = int(np.argmax(estimate.loads_kg))
    half_n = float(np.mean(estimate.static_u95_n[top]))
    return (
        f"With {load_text(float(estimate.loads_kg[top]))} the machine's force lies within ±{force_text(half_n)} of "
        f"the solid line with 95{NO_BREAK}% confidence, on average over the travel, if it is built as its file says "
        "and the dimensions are as uncertain as stated there. This is what that is made of; u is one standard "
        "uncertainty."
    )


def describe_predicted_making(predicted: PredictedMachine) -> tuple[tuple[str, str], ...]:
    """Machine file, travel, gravity and software."""
    provenance = predicted.provenance
    travel = describe_length(predicted.travel)
    return (
        ("Machine file, SHA-256", text_sha256(provenance.machine_toml or "")),
        ("Travel", travel if predicted.travel_stated else f"{travel}; a usual one, nobody stated it"),
        *((("Gravity", describe_gravity(provenance.gravity)),) if provenance.gravity is not None else ()),
        ("Software", f"feltload {provenance.feltload}"),
    )


def describe_predicted_terminal(predicted: PredictedMachine) -> list[str]:
    """The prediction on a terminal."""
    estimate = predicted.prediction.estimate
    lines = [f"{estimate.machine_name}: {describe_predicted_scope(estimate)}"]
    for index in range(estimate.loads_kg.size):
        shape = describe_shape(estimate, index)
        lines.append(f"  {describe_headline(shape, estimate.travel)}")
    lines.append(f"  {describe_predicted_friction(estimate)}")
    lines += [
        f"  {describe_judgement(each, estimate.travel, measured=False)}" for each in predicted.judgements
    ]
    lines += [f"  {describe_variant(variant, estimate.loads_kg)}" for variant in predicted.variants]
    return lines + [f"Note: {describe(fact)}" for fact in estimate.warnings]
