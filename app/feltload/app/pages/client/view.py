"""What the client's page says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.client.figures import demand_figure, help_figure
from feltload.app.text.client_words import delivered_sentences, match_sentences
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import degrees, force_text, sentence
from feltload.coaching import (
    ESTIMATE,
    HELP_BY_HAND,
    MAXIMAL_EFFORT,
    STEADY_HAND_N,
    CapacityCurve,
    CoachingError,
    DeliveredHelp,
    HelpPlan,
    LoadLine,
    Match,
    full_against_short,
    load_for_demand,
    repetitions_at,
    shortening_words,
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
    found: Match,
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
    reps = repetitions_at(found.limiting_demand, found.u_limiting_demand)
    worst = int(np.argmax(found.demand))
    facts = (
        KeyFigure(
            "Hardest for you at",
            degrees(found.limiting_angle_rad),
            f"of {degrees(found.angle_rad[0])} to {degrees(found.angle_rad[-1])}",
        ),
        KeyFigure(
            "It asks there for",
            f"{100 * found.limiting_demand:.0f} %",
            f"of what you have: {force_text(found.load_n[worst])}",
        ),
        KeyFigure("Repetitions, estimated", str(reps), f"with {found.load_kg:g} kg, full range"),
    )
    return SheetView(
        machine=profile.machine_name,
        code=code,
        invented=invented,
        headline=_headline(found),
        sentences=tuple(match_sentences(found, to_client=True)),
        facts=facts,
        demand=demand_figure(found, capacity),
        plan_title=f"Help by hand, with {plan.load_kg:g} kg",
        plan_words=_plan_words(plan),
        help=help_figure(plan, given),
        given_words=tuple(delivered_sentences(given, plan)) if given is not None else (),
        changes=tuple(_changes(line, capacity, found, plan, stop_rad)),
        warnings=tuple(sentence(w) for w in (*capacity.warnings, *found.warnings)),
        cautions=(HELP_BY_HAND, MAXIMAL_EFFORT, ESTIMATE),
    )


def _headline(found: Match) -> str:
    part = (found.limiting_angle_rad - found.angle_rad[0]) / (found.angle_rad[-1] - found.angle_rad[0])
    place = "at the start" if part < 1 / 3 else "in the middle" if part < 2 / 3 else "towards the end"
    if found.limiting_demand > 1:
        return f"With {found.load_kg:g} kg you would stop {place} of the movement: it asks for more than you have."
    return f"With {found.load_kg:g} kg this machine is hardest for you {place} of the movement."


def _plan_words(plan: HelpPlan) -> tuple[str, ...]:
    lines = [s.words() for s in plan.stretches]
    if plan.beyond_a_hand:
        lines.append(
            f"More than {force_text(STEADY_HAND_N)} is more than a partner gives evenly: change the plates first."
        )
    return tuple(lines)


def _changes(
    line: LoadLine, capacity: CapacityCurve, found: Match, plan: HelpPlan, stop_rad: float | None
) -> list[str]:
    lines = []
    if stop_rad is not None:
        full, short = full_against_short(found, stop_rad)
        lines.append(shortening_words(full, short, degrees(stop_rad)))
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
        f"{100 * float(np.min(found.demand)):.0f} to {100 * found.limiting_demand:.0f} %."
    )
    return lines
