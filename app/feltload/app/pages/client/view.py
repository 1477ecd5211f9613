"""What the client's page says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from feltload.app.jobs.painful import SessionPain
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.client.figures import demand_figure, help_figure
from feltload.app.pages.client.marks import client_drawing
from feltload.app.text.cautions import CAUTIONS
from feltload.app.text.facts import describe
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import load_text, sentence
from feltload.app.text.person.delivered import describe_delivered
from feltload.app.text.person.hands import describe_kind, describe_plan
from feltload.app.text.person.match import describe_match
from feltload.app.text.person.sheet import describe_changes, describe_sheet_headline, sheet_key_figures
from feltload.app.text.person.travel import describe_session_pain
from feltload.calibration import Machine
from feltload.coaching import (
    CapacityCurve,
    Caution,
    DeliveredHelp,
    HelpPlan,
    LoadLine,
    Match,
    Plates,
)
from feltload.core import serious_facts
from feltload.signal import ProfileEstimate


@dataclass(frozen=True)
class SheetView:
    """Everything on the page, ready to be set."""

    machine: str
    code: str
    date: str
    invented: bool
    headline: str
    sentences: tuple[str, ...]
    facts: tuple[KeyFigure, ...]
    demand: Drawing
    machine_drawing: Drawing | None
    plan_title: str
    plan_words: tuple[str, ...]
    help: Drawing
    given_words: tuple[str, ...]
    changes: tuple[str, ...]
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    partner_cautions: tuple[str, ...]
    marked: tuple[Caution, ...]
    """Of a painful range, for whoever writes the page."""


def build_sheet(
    profile: ProfileEstimate,
    line: LoadLine,
    capacity: CapacityCurve,
    match: Match,
    plan: HelpPlan,
    *,
    start_rad: float | None = None,
    stop_rad: float | None = None,
    given: DeliveredHelp | None = None,
    hurts: SessionPain | None = None,
    code: str = "",
    machine: Machine | None = None,
    at_hand: Plates | None = None,
    aim: float | None = None,
    invented: bool = False,
) -> SheetView:
    """Put the page together.

    `given` and `hurts` are of a session with the plates of `plan`; with a `machine` it is drawn; `aim` is the share of
    capacity that was named. `invented` marks the page when no real person or machine was measured.
    """
    along = profile.travel
    doubts = (*serious_facts(profile.warnings), *capacity.warnings, *match.warnings)
    return SheetView(
        machine=profile.machine_name,
        code=code,
        date=datetime.now(UTC).date().isoformat(),
        invented=invented,
        headline=describe_sheet_headline(match, along),
        sentences=tuple(describe_match(match, along, to_client=True)),
        facts=sheet_key_figures(match, along),
        demand=demand_figure(match, capacity, line, along),
        machine_drawing=None if machine is None else client_drawing(profile, machine, line, match, plan),
        plan_title=f"For the partner: {describe_kind(plan)}, with {load_text(plan.load_kg)}",
        plan_words=tuple(describe_plan(plan, along)),
        help=help_figure(plan, given, along),
        given_words=(
            *(describe_session_pain(hurts, along, to_client=True) if hurts is not None else ()),
            *(describe_delivered(given, plan, along) if given is not None else ()),
        ),
        changes=tuple(
            describe_changes(line, capacity, match, plan, along, start_rad, stop_rad, at_hand, aim)
        ),
        warnings=tuple(sentence(describe(fact)) for fact in doubts),
        cautions=_worded((*match.travel.cautions, *capacity.cautions)),
        partner_cautions=_worded(plan.cautions),
        marked=match.travel.cautions,
    )


def _worded(cautions: Sequence[Caution]) -> tuple[str, ...]:
    return tuple(CAUTIONS[caution] for caution in dict.fromkeys(cautions))
