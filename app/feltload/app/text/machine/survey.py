"""A survey plan in plain words: what to measure, how, and how well."""

from __future__ import annotations

import math

from feltload.app.text.machine.dimensions import dimension_name, dimension_value, in_unit
from feltload.app.text.machine.measuring import how_to_measure
from feltload.calibration import SurveyItem, SurveyPlan, unit_symbol


def survey_text(plan: SurveyPlan) -> str:
    """The whole plan, one line a dimension."""
    lines = [
        f"{plan.machine}: to see an error of {plan.see_percent:g} % of the peak. As surveyed, the model's 95 % band is "
        f"±{plan.band_percent:.1f} % of the peak."
    ]
    lines += [
        f"- {dimension_name(item.parameter.key)}: {dimension_value(item.parameter)}; {_effect(item)} "
        f"How: {how_to_measure(item.parameter.key.dotted)}."
        for item in plan.items
    ]
    return "\n".join(lines)


def _effect(item: SurveyItem) -> str:
    """What a dimension does to the curve, and whether it is known well enough."""
    if not math.isfinite(item.needed_u):
        return "hardly matters to the force at rest."
    unit = unit_symbol(item.parameter.unit)
    effect = f"{item.effect_percent_per_unit:.2g} % of the peak per {unit or 'unit'}"
    if not item.matters:
        return f"{effect}; hardly matters."
    need = in_unit(f"know it to {item.needed_u / item.parameter.per_unit:.2g} {unit}")
    return f"{effect}; {need} ({'good enough' if item.enough else 'measure better'})."
