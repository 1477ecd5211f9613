"""A client's sheet in words: its headline, its key figures, and what could be changed."""

from __future__ import annotations

import numpy as np

from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import degrees, force_text
from feltload.app.text.person.match import (
    HELD_DOWN_SHARE,
    describe_held_down,
    describe_repetitions,
    describe_shortening,
)
from feltload.app.text.person.travel import describe_way_out, marked_text, over_the_travel, range_text
from feltload.coaching import (
    CapacityCurve,
    CoachingError,
    HelpPlan,
    LoadLine,
    Match,
    load_for_demand,
    match_capacity,
)


def sheet_key_figures(match: Match) -> tuple[KeyFigure, ...]:
    """Where the load is hardest, or the range that pain leaves; how much it asks there; repetitions to be expected."""
    held_down = describe_held_down(match.repetitions)
    hardest = degrees(match.limiting_angle_rad)
    asked = f"of what you have: {force_text(match.load_n[match.limiting])}"
    where = (
        (
            KeyFigure("Your range", range_text(match.travel.work_rad), describe_way_out(match.travel)),
            KeyFigure("It asks at most for", f"{100 * match.limiting_demand:.0f} %", f"{asked} at {hardest}"),
        )
        if match.travel.keeps_out
        else (
            KeyFigure("Hardest for you at", hardest, f"of {range_text(match.travel.work_rad)}"),
            KeyFigure("It asks there for", f"{100 * match.limiting_demand:.0f} %", asked),
        )
    )
    return (
        *where,
        KeyFigure(
            "Repetitions, estimated",
            describe_repetitions(match.repetitions),
            f"with {match.load_kg:g} kg, "
            f"{'full range' if match.travel.whole else range_text(match.travel.work_rad)}"
            f"{f'; {held_down}' if held_down else ''}",
        ),
    )


def describe_sheet_headline(match: Match) -> str:
    """The stop or start that keeps out of pain; then in which part of the movement the client runs out."""
    hardest = _describe_hardest(match)
    if not match.travel.keeps_out:
        return hardest
    way_out = describe_way_out(match.travel)
    return f"{way_out[:1].upper()}{way_out[1:]}: {marked_text(match.travel.avoided_rad)}. {hardest}"


def _describe_hardest(match: Match) -> str:
    part = (match.limiting_angle_rad - match.angle_rad[0]) / (match.angle_rad[-1] - match.angle_rad[0])
    place = "at the start" if part < 1 / 3 else "in the middle" if part < 2 / 3 else "towards the end"
    of_what = "the movement" if not describe_way_out(match.travel) else "the range that is left"
    if match.limiting_demand > 1:
        return (
            f"With {match.load_kg:g} kg you would stop {place} of {of_what}: it asks for more than you have."
        )
    return f"With {match.load_kg:g} kg this machine is hardest for you {place} of {of_what}."


def describe_changes(
    line: LoadLine, capacity: CapacityCurve, match: Match, plan: HelpPlan, stop_rad: float | None
) -> list[str]:
    """What a shorter range, other plates and help by hand would change."""
    lines = []
    if stop_rad is not None:
        lines.append(describe_shortening(match, stop_rad))
    target = f"{100 * plan.target:.0f} %"
    try:
        plates = match_capacity(line, capacity, load_for_demand(line, capacity, plan.target))
        held_down = (
            ", no more than without the painful range"
            if plates.limiting_demand < plan.target - HELD_DOWN_SHARE
            else ""
        )
        lines.append(
            f"Other plates: {plates.load_kg:.0f} kg{held_down}: it would ask for {100 * plates.limiting_demand:.0f} % "
            f"of what you have at the hardest position {over_the_travel(match.travel)}."
        )
    except CoachingError as error:
        lines.append(f"Other plates: {error}.")
    lines.append(
        f"Help by hand as planned, with {plan.load_kg:g} kg: {target} of what you have "
        f"{over_the_travel(plan.travel)}, in place of "
        f"{100 * float(np.min(match.demand)):.0f} to {100 * match.limiting_demand:.0f} %."
    )
    return lines
