"""A survey plan in plain words: what to measure, how, and how well."""

from __future__ import annotations

import math
from typing import Final

from feltload.app.text.machine.dimensions import dimension_name, dimension_value, in_unit
from feltload.calibration import ParameterKey, SurveyItem, SurveyPlan, unit_symbol

_HOW: Final[dict[str, str]] = {
    "start_angle": "digital level along the line from pivot to handle, machine on its start stop",
    "handle_radius": "tape from the pivot's centre to where the hand pulls",
    "radius": "tape from the pivot's centre to the centre of the mass or peg",
    "angle": "digital level along the line from pivot to the mass, machine on its start stop",
    "mass": "weigh it; a nominal mass is only good to 2-3 % (common practice, no source)",
    "hinge_inclination": "digital level along the hinge's axle",
    "gyration_radius": "a third of the part's length if it is a plain bar; only matters for brisk motion",
    "incline": "digital level on the rail",
    "wheel_radius": "travel of ten turns, divided by 2 pi times ten",
    "drum_radius": "calliper over the drum, half of it, plus half the cable",
    "offset": "calliper; half the cable's thickness belongs to the moment arm",
    "mounting": "mark the cam's zero on the start stop",
    "stiffness": "hang two known weights and measure the stretch between them",
    "free_length": "tape along the spring when it carries nothing",
    "input_angle": "digital level along the input link, machine on its start stop",
    "ground_angle": "digital level along the line between the two fixed pivots",
}
"""Dimension -> what to measure it with."""
_HOW_PARTLY: Final[dict[str, str]] = {
    "length": "tape between the centres of the joints",
    "anchor": "tape and level from the pivot",
}
"""The same for dimensions with this in their name."""


def survey_text(plan: SurveyPlan) -> str:
    """The whole plan, one line a dimension."""
    lines = [
        f"{plan.machine}: to see an error of {plan.see_percent:g} % of the peak. As surveyed, the model's 95 % band is "
        f"±{plan.band_percent:.1f} % of the peak."
    ]
    lines += [
        f"- {dimension_name(item.parameter.key)}: {dimension_value(item.parameter)}; {_effect(item)} "
        f"How: {how_to_measure(item.parameter.key)}."
        for item in plan.items
    ]
    return "\n".join(lines)


def how_to_measure(key: ParameterKey) -> str:
    """What to measure a dimension with."""
    if key.dimension in _HOW:
        return _HOW[key.dimension]
    partly = (how for part, how in _HOW_PARTLY.items() if part in key.dotted)
    return next(partly, "measure it, or take it from a data sheet")


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
