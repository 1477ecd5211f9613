"""A client's sheet in words: its headline, its key figures, and what could be changed."""

from __future__ import annotations

import numpy as np

from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import degrees, force_text
from feltload.app.text.person.match import describe_repetitions, describe_shortening
from feltload.coaching import CapacityCurve, CoachingError, HelpPlan, LoadLine, Match, load_for_demand


def sheet_key_figures(match: Match) -> tuple[KeyFigure, ...]:
    """Where the load is hardest, how much it asks there, and the repetitions to be expected."""
    return (
        KeyFigure(
            "Hardest for you at",
            degrees(match.limiting_angle_rad),
            f"of {degrees(match.angle_rad[0])} to {degrees(match.angle_rad[-1])}",
        ),
        KeyFigure(
            "It asks there for",
            f"{100 * match.limiting_demand:.0f} %",
            f"of what you have: {force_text(match.load_n[match.limiting])}",
        ),
        KeyFigure(
            "Repetitions, estimated",
            describe_repetitions(match.repetitions),
            f"with {match.load_kg:g} kg, full range",
        ),
    )


def describe_sheet_headline(match: Match) -> str:
    """In which part of the movement the client runs out."""
    part = (match.limiting_angle_rad - match.angle_rad[0]) / (match.angle_rad[-1] - match.angle_rad[0])
    place = "at the start" if part < 1 / 3 else "in the middle" if part < 2 / 3 else "towards the end"
    if match.limiting_demand > 1:
        return f"With {match.load_kg:g} kg you would stop {place} of the movement: it asks for more than you have."
    return f"With {match.load_kg:g} kg this machine is hardest for you {place} of the movement."


def describe_changes(
    line: LoadLine, capacity: CapacityCurve, match: Match, plan: HelpPlan, stop_rad: float | None
) -> list[str]:
    """What a shorter range, other plates and help by hand would change."""
    lines = []
    if stop_rad is not None:
        lines.append(describe_shortening(match, stop_rad))
    target = f"{100 * plan.target:.0f} %"
    try:
        plates = load_for_demand(line, capacity, plan.target)
        lines.append(
            f"Other plates: {plates:.0f} kg would ask for {target} of what you have at the hardest position."
        )
    except CoachingError as error:
        lines.append(f"Other plates: {error}.")
    lines.append(
        f"Help by hand as planned, with {plan.load_kg:g} kg: {target} of what you have everywhere, in place of "
        f"{100 * float(np.min(match.demand)):.0f} to {100 * match.limiting_demand:.0f} %."
    )
    return lines
