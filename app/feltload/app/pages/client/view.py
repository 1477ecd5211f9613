"""What the client's page says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.client.figures import demand_figure, help_figure
from feltload.app.text.cautions import CAUTIONS
from feltload.app.text.facts import describe
from feltload.app.text.hands import describe_delivered, describe_plan
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.match import describe_match, describe_repetitions, describe_shortening
from feltload.app.text.numbers import degrees, force_text, sentence
from feltload.coaching import (
    CapacityCurve,
    CoachingError,
    DeliveredHelp,
    HelpPlan,
    LoadLine,
    Match,
    load_for_demand,
)
from feltload.signal import ProfileEstimate


@dataclass(frozen=True)
class SheetView:
    """Everything on the page, ready to be set."""

    machine: str
    code: str
    invented: bool
    headline: str
    sentences: tuple[str, ...]
    facts: tuple[KeyFigure, ...]
    demand: Drawing
    plan_title: str
    plan_words: tuple[str, ...]
    help: Drawing
    given_words: tuple[str, ...]
    changes: tuple[str, ...]
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]


def build_sheet(
    profile: ProfileEstimate,
    line: LoadLine,
    capacity: CapacityCurve,
    match: Match,
    plan: HelpPlan,
    *,
    stop_rad: float | None = None,
    given: DeliveredHelp | None = None,
    code: str = "",
    invented: bool = False,
) -> SheetView:
    """Put the page together.

    `given` is of a session with the plates of `plan`. `invented` marks the page when no real person or machine was
    measured.
    """
    facts = (
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
    return SheetView(
        machine=profile.machine_name,
        code=code,
        invented=invented,
        headline=_headline(match),
        sentences=tuple(describe_match(match, to_client=True)),
        facts=facts,
        demand=demand_figure(match, capacity),
        plan_title=f"Help by hand, with {plan.load_kg:g} kg",
        plan_words=tuple(describe_plan(plan)),
        help=help_figure(plan, given),
        given_words=tuple(describe_delivered(given, plan)) if given is not None else (),
        changes=tuple(_changes(line, capacity, match, plan, stop_rad)),
        warnings=tuple(sentence(describe(fact)) for fact in (*capacity.warnings, *match.warnings)),
        cautions=tuple(CAUTIONS[caution] for caution in (*plan.cautions, *capacity.cautions)),
    )


def _headline(match: Match) -> str:
    part = (match.limiting_angle_rad - match.angle_rad[0]) / (match.angle_rad[-1] - match.angle_rad[0])
    place = "at the start" if part < 1 / 3 else "in the middle" if part < 2 / 3 else "towards the end"
    if match.limiting_demand > 1:
        return f"With {match.load_kg:g} kg you would stop {place} of the movement: it asks for more than you have."
    return f"With {match.load_kg:g} kg this machine is hardest for you {place} of the movement."


def _changes(
    line: LoadLine, capacity: CapacityCurve, match: Match, plan: HelpPlan, stop_rad: float | None
) -> list[str]:
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
