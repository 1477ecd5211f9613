"""A client's sheet in words: its headline, its key figures, and what could be changed."""

from __future__ import annotations

import numpy as np

from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import ForceUnit, force_text, force_unit, load_text
from feltload.app.text.person.match import (
    HELD_DOWN_SHARE,
    describe_held_down,
    describe_repetitions,
    describe_shortening,
)
from feltload.app.text.person.travel import are_marked, describe_way_out, over_the_travel
from feltload.app.text.position import (
    describe_place,
    ends_text,
    in_third,
    shares_text,
    short_position,
    short_span,
)
from feltload.coaching import (
    PER_UNIT,
    CapacityCurve,
    CoachingError,
    HelpPlan,
    LoadLine,
    Match,
    Plates,
    load_for_demand,
    match_capacity,
)
from feltload.core import POUND_KG
from feltload.signal import Travel


def sheet_key_figures(match: Match, along: Travel) -> tuple[KeyFigure, ...]:
    """Where the load is hardest, or the range that pain leaves; how much it asks there; repetitions to be expected."""
    held_down = describe_held_down(match.repetitions)
    hardest = short_position(match.limiting_angle_rad, along)
    asked = f"of what you have: {force_text(match.load_n[match.limiting])}"
    where = (
        (
            KeyFigure(
                "Your range",
                shares_text(match.travel.work_rad, along),
                f"of the travel ({ends_text(match.travel.work_rad, along)}): {describe_way_out(match.travel, along)}",
            ),
            KeyFigure("It asks at most for", f"{100 * match.limiting_demand:.0f} %", f"{asked} at {hardest}"),
        )
        if match.travel.keeps_out
        else (
            KeyFigure(
                "Hardest for you at",
                f"{100.0 * along.share(match.limiting_angle_rad):.0f} %",
                f"of the travel: {describe_place(match.limiting_angle_rad, along)}",
            ),
            KeyFigure("It asks there for", f"{100 * match.limiting_demand:.0f} %", asked),
        )
    )
    return (
        *where,
        KeyFigure(
            "Repetitions, estimated",
            describe_repetitions(match.repetitions),
            f"with {load_text(match.load_kg)}, "
            f"{'full range' if match.travel.whole else over_the_travel(match.travel, along)}"
            f"{f'; {held_down}' if held_down else ''}",
        ),
    )


def describe_sheet_headline(match: Match, along: Travel) -> str:
    """The stop or start that keeps out of pain; then in which part of the movement the client runs out."""
    hardest = _describe_hardest(match, along)
    if not match.travel.keeps_out:
        return hardest
    way_out = describe_way_out(match.travel, along)
    sore = [short_span(span, along) for span in match.travel.avoided_rad]
    return f"{way_out[:1].upper()}{way_out[1:]}: {are_marked(sore)}. {hardest}"


def _describe_hardest(match: Match, along: Travel) -> str:
    part = (match.limiting_angle_rad - match.angle_rad[0]) / (match.angle_rad[-1] - match.angle_rad[0])
    place = in_third(part)
    of_what = "the movement" if not describe_way_out(match.travel, along) else "the range that is left"
    if match.limiting_demand > 1:
        return f"With {load_text(match.load_kg)} you would stop {place} of {of_what}: it asks for more than you have."
    return f"With {load_text(match.load_kg)} this machine is hardest for you {place} of {of_what}."


def _whole_units() -> Plates:
    """Plates in whole kilograms, or pounds where forces are in lbf, where nobody says which are at hand."""
    return Plates((PER_UNIT,), POUND_KG if force_unit() == ForceUnit.POUND_FORCE else 1.0)


def describe_changes(
    line: LoadLine,
    capacity: CapacityCurve,
    match: Match,
    plan: HelpPlan,
    along: Travel,
    start_rad: float | None,
    stop_rad: float | None,
    at_hand: Plates | None = None,
) -> list[str]:
    """What a shorter range, other plates (of those at hand) and help by hand would change."""
    lines = []
    if start_rad is not None or stop_rad is not None:
        lines.append(describe_shortening(match, start_rad, stop_rad, along))
    target = f"{100 * plan.target:.0f} %"
    try:
        wanted_kg = load_for_demand(line, capacity, plan.target)
        plates = match_capacity(line, capacity, (at_hand or _whole_units()).up_to(wanted_kg))
        held_down = (
            ", no more than without the painful range"
            if match_capacity(line, capacity, wanted_kg).limiting_demand < plan.target - HELD_DOWN_SHARE
            else ""
        )
        which = f"{load_text(plates.load_kg)}{' of those at hand' if at_hand else ''}{held_down}"
        lines.append(
            f"Other plates: {which}: it would ask for {100 * plates.limiting_demand:.0f} % "
            f"of what you have at the hardest position {over_the_travel(match.travel, along)}."
        )
    except CoachingError as error:
        lines.append(f"Other plates: {error}.")
    at_plan = match if match.load_kg == plan.load_kg else match_capacity(line, capacity, plan.load_kg)
    lines.append(
        f"Help by hand as planned, with {load_text(plan.load_kg)}: {target} of what you have "
        f"{over_the_travel(plan.travel, along)}, in place of "
        f"{100 * float(np.min(at_plan.demand)):.0f} to {100 * at_plan.limiting_demand:.0f} %."
    )
    return lines
