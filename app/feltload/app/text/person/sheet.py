"""A client's sheet in words: its headline, its key figures, and what could be changed."""

from __future__ import annotations

import numpy as np

from feltload.app.text.coaching import describe_load_above
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import ForceUnit, force_text, force_unit, load_text, sentence
from feltload.app.text.person.hands import HANDS_OFF, describe_kind, instead_of_hands
from feltload.app.text.person.match import (
    HELD_DOWN_SHARE,
    demand_text,
    describe_held_down,
    describe_repetitions,
    describe_shortening,
    limiting_ends,
)
from feltload.app.text.person.travel import are_marked, describe_way_out, over_the_travel
from feltload.app.text.position import (
    THIRDS,
    describe_place,
    ends_text,
    shares_text,
    short_position,
    short_span,
    third,
)
from feltload.coaching import (
    PER_UNIT,
    STEADY_HAND_N,
    USUAL_TARGET,
    CapacityCurve,
    CoachingError,
    HelpPlan,
    LoadLine,
    Match,
    MatchFact,
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
            KeyFigure("It asks at most for", demand_text(match), f"{asked} at {hardest}"),
        )
        if match.travel.keeps_out
        else (
            KeyFigure(
                "Hardest for you at",
                f"{100.0 * along.share(match.limiting_angle_rad):.0f} %",
                f"of the travel: {describe_place(match.limiting_angle_rad, along)}{_somewhere(match, along)}",
            ),
            KeyFigure("It asks there for", demand_text(match), asked),
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


def _somewhere(match: Match, along: Travel) -> str:
    ends = limiting_ends(match, along)
    return "" if ends is None else f"; somewhere from {shares_text(ends, along)}"


def describe_sheet_headline(match: Match, along: Travel) -> str:
    """The stop or start that keeps out of pain; then in which part of the movement the client runs out."""
    hardest = _describe_hardest(match, along)
    if not match.travel.keeps_out:
        return hardest
    way_out = describe_way_out(match.travel, along)
    sore = [short_span(span, along) for span in match.travel.avoided_rad]
    return f"{way_out[:1].upper()}{way_out[1:]}: {are_marked(sore)}. {hardest}"


def _describe_hardest(match: Match, along: Travel) -> str:
    of_what = "the movement" if not describe_way_out(match.travel, along) else "the range that is left"
    load, place = load_text(match.load_kg), _which_third(match)
    if match.limiting_demand > 1:
        where = f"{place} of {of_what}" if place else "somewhere"
        return f"With {load} you would stop {where}: it asks for more than you have."
    if not place:
        return (
            f"With {load} this machine asks for so much the same of you that no part of {of_what} stands out."
        )
    return f"With {load} this machine is hardest for you {place} of {of_what}."


def _which_third(match: Match) -> str:
    """Where it is hardest, as sure as that is; empty where it may be anywhere."""
    ends = np.interp(match.limiting_range_rad, match.angle_rad[[0, -1]], [0.0, 1.0])
    first, last = (THIRDS.index(third(float(part))) for part in ends)
    thirds = THIRDS[first : last + 1]
    return "" if len(thirds) == len(THIRDS) else f"in the {' or the '.join(thirds)}"


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
    aim: float | None = None,
) -> list[str]:
    """What a shorter range, fewer plates (of those at hand) and hands would change; never more plates.

    `aim` is the share of capacity that plates come down to, where one was named.
    """
    lines = [
        sentence(describe_load_above(fact))
        for fact in match.carried
        if fact.kind == MatchFact.LOAD_ABOVE_MEASURED
    ]
    if start_rad is not None or stop_rad is not None:
        lines.append(describe_shortening(match, start_rad, stop_rad, along))
    lines.append(
        _describe_plates(
            line, capacity, match, along, at_hand or _whole_units(), USUAL_TARGET if aim is None else aim
        )
    )
    lines.append(_describe_hands(line, capacity, match, plan, along))
    return lines


def _describe_plates(
    line: LoadLine, capacity: CapacityCurve, match: Match, along: Travel, at_hand: Plates, aim: float
) -> str:
    over = over_the_travel(match.travel, along)
    # What it would ask for without a mark counts too: a mark never keeps plates on.
    if max(match.limiting_demand, *(each.demand for each in match.unmarked), 0.0) <= aim + HELD_DOWN_SHARE:
        return (
            f"Plates: with {load_text(match.load_kg)} it asks for {demand_text(match)} of what you have at the hardest "
            f"position {over}; none need to come off."
        )
    try:
        wanted_kg = load_for_demand(line, capacity, aim)
        fewer = match_capacity(line, capacity, at_hand.up_to(wanted_kg))
        held_down = match_capacity(line, capacity, wanted_kg).limiting_demand < aim - HELD_DOWN_SHARE
    except CoachingError as error:
        return f"Fewer plates: {error}."
    load = f"with {load_text(fewer.load_kg)}" if fewer.load_kg > 0.0 else "without plates"
    carried = " (predicted)" if fewer.carried else ""
    pain = ", and no more than without the painful range" if held_down else ""
    return (
        f"Fewer plates: {load}{carried} it would ask for {demand_text(fewer)} of what you have at the hardest position "
        f"{over}{pain}."
    )


def _describe_hands(
    line: LoadLine, capacity: CapacityCurve, match: Match, plan: HelpPlan, along: Travel
) -> str:
    load = load_text(plan.load_kg)
    kind = describe_kind(plan)
    if kind == HANDS_OFF:
        why = (
            "it asks for no more"
            if plan.helps_only
            else "what would even it out is no larger than its uncertainty"
        )
        return f"By hand, with {load}: nothing; {why}."
    if plan.beyond_a_hand:
        return (
            f"By hand, with {load}: more than {force_text(STEADY_HAND_N)} in places, which no partner gives evenly; "
            f"{instead_of_hands(plan)} first."
        )
    at_plan = match if match.load_kg == plan.load_kg else match_capacity(line, capacity, plan.load_kg)
    most = "at most " if plan.helps_only else ""
    u95 = float((plan.u95_n / capacity.at(plan.angle_rad)[0]).max())
    return (
        f"{kind[:1].upper()}{kind[1:]} as planned, with {load}: {most}{100 * plan.target:.0f} ± {100 * u95:.0f} % "
        f"of what you have {over_the_travel(plan.travel, along)}, in place of "
        f"{100 * float(np.min(at_plan.demand)):.0f} to {100 * at_plan.limiting_demand:.0f} %."
    )
