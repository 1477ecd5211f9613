"""A proposed design in words."""

from __future__ import annotations

import math
from typing import Final

from feltload.app.text.machine.dimensions import dimension_name, in_unit
from feltload.app.text.numbers import force_text, listed, number
from feltload.app.text.proposed.conflict import conflict_lines
from feltload.calibration import (
    CamDesign,
    FreeCombination,
    FreeDimension,
    ParameterKey,
    Proposal,
    ProposedDimension,
    Stage,
    ToleranceOf,
    unit_symbol,
)

KICKER: Final = "Proposed from the machine's dimensions; nothing was built or measured"
CAUTIONS: Final = (
    "A proposal is no strength calculation. Other dimensions load hinges, pegs, cables and welds differently: have "
    "parts that carry load designed and released by somebody licensed to.",
    "The maker's instructions and the codes that hold where the machine stands come before anything written here; "
    "changing a machine that somebody else made can end what its maker answers for.",
    "Check clearances, stops and guards over the whole travel; build, measure without a person first, and compare.",
)
CURVES_CAPTION: Final = (
    "Force at the handle, midway between raising and lowering: today dashed, proposed solid. Shaded: what the targets "
    "allow, at the scale that suits the proposed curve best."
)
DRAWING_CAPTION: Final = "The proposed machine on its start stop; today's faint below it."


def value_text(free: FreeDimension, value: float) -> str:
    """``243 mm``."""
    unit = free.parameter.per_unit
    return in_unit(f"{number(round(value / unit, 6), '.6g')} {unit_symbol(free.parameter.unit)}")


def change_text(each: ProposedDimension) -> str:
    """``plates radius from 270 mm to 243 mm``."""
    name = dimension_name(each.free.parameter.key)
    return f"{name} from {value_text(each.free, each.free.parameter.value)} to {value_text(each.free, each.value)}"


def change_row(each: ProposedDimension) -> tuple[str, ...]:
    """A change as a row: which, from, to, what one unit more does, and whether it stops at its bound."""
    unit = unit_symbol(each.free.parameter.unit)
    bound = "; at its bound" if each.at_bound else ""
    return (
        dimension_name(each.free.parameter.key),
        value_text(each.free, each.free.parameter.value),
        value_text(each.free, each.value),
        f"up to {_change(each.change_n)} per {unit or 'unit'}{bound}",
    )


def headline(proposal: Proposal) -> str:
    """What to change, and whether that meets the targets."""
    if not proposal.dimensions:
        return "Today's machine meets every target as predicted: nothing has to change."
    change = listed([change_text(each) for each in proposal.dimensions])
    if proposal.meets:
        return f"Change {change}: then every target is met as predicted."
    return (
        f"No design within the bounds meets every target. Nearest is {change}: it still misses by "
        f"{_tolerances(proposal.stage.miss)} where 1 is allowed{_relief(proposal)}."
    )


def _tolerances(miss: float) -> str:
    return f"{number(miss, '.3g')} times the tolerance"


def _relief(proposal: Proposal) -> str:
    for relief in proposal.reliefs:
        if relief.miss <= 1.0:
            return f"; bounds wider by {number(100.0 * relief.wider, '.0f')} % on either side would do"
    return "; bounds half as wide again on either side would not do either" if proposal.reliefs else ""


def stage_text(proposal: Proposal, stage: Stage) -> tuple[str, str, str]:
    """A stage as a row: how many change, which, and what that reaches."""
    names = listed(
        [
            f"{dimension_name(proposal.free[i].parameter.key)} "
            f"{value_text(proposal.free[i], proposal.free[i].value(float(stage.parts[i])))}"
            for i in stage.moving
        ]
    )
    if not math.isfinite(stage.miss):
        return str(len(stage.moving)), names or "nothing", "no machine can be assembled"
    reached = "meets every target" if stage.meets else "misses"
    return str(len(stage.moving)), names or "nothing", f"{reached}: {_tolerances(stage.miss)} at worst"


def combination_text(combination: FreeCombination) -> str:
    """What the targets leave open."""
    first = combination.free[0]
    others = [
        f"{dimension_name(each.parameter.key)} by "
        f"{number(per / each.parameter.per_unit * first.parameter.per_unit, '+.3g')} {unit_symbol(each.parameter.unit)}"
        for each, per in zip(combination.free[1:], combination.per_first[1:], strict=True)
    ]
    unit = unit_symbol(first.parameter.unit)
    return (
        f"The targets leave this open: {dimension_name(first.parameter.key)} by +1 {unit} together with "
        f"{listed(others)} hardly changes the force. Choose it by other needs, such as room or parts at hand."
    )


def tolerance_text(proposal: Proposal) -> str:
    """What the shop's tolerances do."""
    study = proposal.tolerances
    part = f"{number(100.0 * study.meeting, '.0f')} % of {study.draws} drawn machines meet every target"
    return (
        f"Within tolerances {part}; with every tolerance at its worst the largest distance from a target is "
        f"{_tolerances(study.worst_miss)}. Changed dimensions are drawn within ISO 2768-m (from memory), the others as "
        "well as the machine file knows them."
    )


def tolerance_row(proposal: Proposal, each: ToleranceOf) -> tuple[str, str, str]:
    """A dimension, its tolerance, and what that does to the force."""
    parameter = proposal.machine.parameter(each.key)
    half = in_unit(f"±{number(each.half / parameter.per_unit, '.2g')} {unit_symbol(parameter.unit)}")
    return _changed(each.key, each.made), half, f"up to {_change(each.change_n)}"


def _change(force_n: float) -> str:
    """A change of the force; below 1 N the other unit has no figures left."""
    return force_text(force_n) if force_n >= 1.0 else f"{number(force_n, '.2g')} N"


def _changed(key: ParameterKey, made: bool) -> str:
    return f"{dimension_name(key)} (changed)" if made else dimension_name(key)


def proposal_lines(proposal: Proposal) -> list[str]:
    """The proposal for a terminal."""
    lines = [f"{proposal.machine.name}: {headline(proposal)}"]
    lines += [f"- {count} changed: {names}; {reached}" for count, names, reached in _rows(proposal)]
    lines.append(tolerance_text(proposal))
    lines += [combination_text(each) for each in proposal.combinations]
    lines += conflict_lines(proposal.conflict)
    lines.append(CAUTIONS[0])
    return lines


def _rows(proposal: Proposal) -> list[tuple[str, str, str]]:
    return [stage_text(proposal, stage) for stage in proposal.stages]


def cam_headline(design: CamDesign) -> str:
    """What cam gives the wanted force, and how well."""
    low, high = (float(f(design.table.arm_m)) * 1e3 for f in (min, max))
    arms = f"A cam with moment arms of {number(low, '.1f')} to {number(high, '.1f')} mm"
    if design.meets:
        return f"{arms} gives the wanted force within its tolerance."
    why = "its outline may not be hollow nor too sharp, and" if design.table.bounded else ""
    return f"{arms} comes nearest: {why} it misses by {_tolerances(design.table.miss)} at worst."


def file_comments(meets: bool) -> list[str]:
    """What stands at the head of a proposed machine file."""
    return [
        "Proposed by feltload design from the dimensions of another machine file; nothing was built or measured.",
        "Targets are met as predicted."
        if meets
        else "No design within the bounds met every target: this is the nearest.",
        "Changed dimensions carry the shop's tolerance as their uncertainty: measure them once they are built.",
        "No strength was checked: parts that carry load are designed and released by somebody licensed to.",
    ]


def proposed_name(name: str) -> str:
    """Name of a proposed machine."""
    return name if name.endswith(", proposed") else f"{name}, proposed"


def cam_lines(design: CamDesign) -> list[str]:
    """A cam's design for a terminal."""
    return [f"{design.machine.name}: {cam_headline(design)}", CAUTIONS[0]]
