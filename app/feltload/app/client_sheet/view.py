"""What the client's page says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.client_sheet.figures import demand_figure, help_figure
from feltload.app.client_sheet.words import delivered_sentences, match_sentences, newtons
from feltload.app.report.canvas import Drawing
from feltload.coaching import (
    CapacityCurve,
    CoachingError,
    DeliveredHelp,
    HelpPlan,
    LoadLine,
    Match,
    full_against_short,
    load_for_demand,
    repetitions_at,
)
from feltload.coaching.cautions import ESTIMATE, HELP_BY_HAND, MAXIMAL_EFFORT
from feltload.signal.profile import ProfileEstimate


@dataclass(frozen=True)
class Fact:
    """One large figure at the head of the page."""

    label: str
    value: str
    detail: str


@dataclass(frozen=True)
class SheetView:
    """Everything on the page, ready to be set."""

    machine: str
    code: str
    headline: str
    sentences: tuple[str, ...]
    facts: tuple[Fact, ...]
    demand: Drawing
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
) -> SheetView:
    """Put the page together."""
    sentences = match_sentences(found)
    reps = repetitions_at(found.limiting_demand, found.u_limiting_demand)
    worst = int(np.argmax(found.demand))
    facts = (
        Fact("Hardest for you at", f"{np.rad2deg(found.limiting_angle_rad):.0f}°", f"of {_travel(found)}"),
        Fact(
            "It asks there for",
            f"{100 * found.limiting_demand:.0f} %",
            f"of what you have: {newtons(found.load_n[worst])}",
        ),
        Fact("Repetitions, estimated", str(reps), f"with {found.load_kg:g} kg through the full range"),
    )
    return SheetView(
        machine=profile.machine_name,
        code=code,
        headline=_headline(found),
        sentences=tuple(sentences),
        facts=facts,
        demand=demand_figure(found, capacity),
        plan_words=tuple(s.words() for s in plan.stretches),
        help=help_figure(plan, given),
        given_words=tuple(delivered_sentences(given, plan)) if given is not None else (),
        changes=tuple(_changes(line, capacity, found, plan.target, stop_rad)),
        warnings=(*capacity.warnings, *found.warnings),
        cautions=(HELP_BY_HAND, MAXIMAL_EFFORT, ESTIMATE),
    )


def _travel(found: Match) -> str:
    return f"{np.rad2deg(found.angle_rad[0]):.0f}° to {np.rad2deg(found.angle_rad[-1]):.0f}°"


def _headline(found: Match) -> str:
    part = (found.limiting_angle_rad - found.angle_rad[0]) / (found.angle_rad[-1] - found.angle_rad[0])
    place = "at the start" if part < 1 / 3 else "in the middle" if part < 2 / 3 else "towards the end"
    if found.limiting_demand > 1:
        return f"With {found.load_kg:g} kg you would stop {place} of the movement: it asks for more than you have."
    return f"With {found.load_kg:g} kg this machine is hardest for you {place} of the movement."


def _changes(
    line: LoadLine, capacity: CapacityCurve, found: Match, target: float, stop_rad: float | None
) -> list[str]:
    lines = []
    if stop_rad is not None:
        full, short = full_against_short(found, stop_rad)
        lines.append(
            f"Turning at {np.rad2deg(stop_rad):.0f}° instead of going through: {short} repetitions to be expected "
            f"instead of {full}."
        )
    try:
        lines.append(
            f"Other plates: {load_for_demand(line, capacity, target):.1f} kg would ask for {100 * target:.0f} % of "
            "what you have at the hardest position."
        )
    except CoachingError as error:
        lines.append(f"Other plates: {error}.")
    lines.append(
        f"Help by hand as planned below: {100 * target:.0f} % everywhere, with {found.load_kg:g} kg."
    )
    return lines
