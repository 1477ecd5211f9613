"""A survey plan in plain words: what to measure, how, and how well."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from feltload.app.text.machine.dimensions import dimension_name, dimension_value, in_unit
from feltload.app.text.machine.measuring import how_to_measure
from feltload.app.text.numbers import force_text, force_unit, load_text
from feltload.app.text.position import describe_position
from feltload.calibration import SurveyItem, SurveyPlan, unit_symbol
from feltload.signal import Travel

BAND_CAPTION: Final = (
    "Line: the force to hold the handle still, as the dimensions predict it. Band: the true force lies within it in "
    "95 % of cases, if the dimensions are as uncertain as the machine file says."
)
SENSITIVITY_CAPTION: Final = (
    "How the predicted force changes along the travel where a dimension is one unit larger than surveyed: above zero "
    "heavier, below lighter. A line far from zero is a dimension to measure well; one load alone does not "
    "part two lines of one shape."
)
MACHINE_CAPTION: Final = (
    "The machine from the side as its file has it: dark on the start stop, faint through the travel; arrows point the "
    "way up."
)


EVEN_SHARE = 0.01
"""Of the peak: a curve that varies by less has no place where it is heaviest."""


def survey_head(plan: SurveyPlan) -> str:
    """What the plan is for, and how well the force is predicted now."""
    return (
        f"To see an error of {plan.see_percent:g} % of the peak. As surveyed, the model's 95 % band is "
        f"±{plan.band_percent:.1f} % of the peak."
    )


def predicted_headline(plan: SurveyPlan, travel: Travel) -> str:
    """Where it is heaviest, how well that is predicted, and what to measure better."""
    size_n = np.abs(plan.force_n)
    at = int(np.argmax(size_n))
    peak = force_text(float(plan.force_n[at]))
    even = float(np.ptp(size_n)) < EVEN_SHARE * float(size_n[at])
    where = (
        f"the force is predicted even along the travel, {peak}"
        if even
        else f"it is predicted heaviest, {peak}, at {describe_position(float(travel.angle_rad[at]), travel)}"
    )
    better = [dimension_name(item.parameter.key) for item in plan.items if item.matters and not item.enough]
    good = (
        f"to see an error of {plan.see_percent:g} %, measure better: {', '.join(better)}."
        if better
        else f"that is good enough to see an error of {plan.see_percent:g} %."
    )
    return (
        f"With {load_text(plan.load_kg)} {where}. As surveyed, the force is predicted to "
        f"±{plan.band_percent:.1f} % of the peak (95 %); {good}"
    )


def per_unit_label(unit: str) -> str:
    """``N per mm``: what an axis of changes is in."""
    return f"change of the force, {force_unit()} per {unit_symbol(unit) or '0.01'}"


def survey_text(plan: SurveyPlan) -> str:
    """The whole plan, one line a dimension."""
    head = survey_head(plan)
    lines = [f"{plan.machine}: {head[:1].lower()}{head[1:]}"]
    lines += [
        f"- {dimension_name(item.parameter.key)}: {dimension_value(item.parameter)}; {effect_text(item)} "
        f"How: {how_to_measure(item.parameter.key.dotted)}."
        for item in plan.items
    ]
    return "\n".join(lines)


def effect_text(item: SurveyItem) -> str:
    """What a dimension does to the curve, and whether it is known well enough."""
    if not math.isfinite(item.needed_u):
        return "hardly matters to the force at rest."
    unit = unit_symbol(item.parameter.unit)
    effect = f"{item.effect_percent_per_unit:.2g} % of the peak per {unit or 'unit'}"
    if not item.matters:
        return f"{effect}; hardly matters."
    need = in_unit(f"know it to {item.needed_u / item.parameter.per_unit:.2g} {unit}")
    return f"{effect}; {need} ({'good enough' if item.enough else 'measure better'})."
