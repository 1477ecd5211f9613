"""Which part of a machine's travel a client works in, and why, in words."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path

from feltload.app.jobs.painful import SessionPain
from feltload.app.text.numbers import listed
from feltload.app.text.person.places import typed_span
from feltload.app.text.position import (
    Span,
    describe_position,
    describe_span,
    ends_text,
    shares_text,
    short_span,
)
from feltload.coaching import WorkingTravel
from feltload.signal import Travel


def spans_text(spans_rad: Sequence[Span], along: Travel) -> str:
    """``0 to 14 % of the travel (…) and 60 to 90 % of the travel (…)``."""
    return listed([describe_span(span, along) for span in spans_rad])


def marked_text(spans: Sequence[Span], along: Travel) -> str:
    """``60 to 90 % of the travel (20° to 40°) is marked painful``."""
    return are_marked([describe_span(span, along) for span in spans])


def are_marked(ranges: Sequence[str]) -> str:
    """``20° to 40° is marked painful``."""
    return f"{listed(ranges)} {'is' if len(ranges) == 1 else 'are'} marked painful"


def describe_lead(travel: WorkingTravel, along: Travel, *, to_client: bool = False) -> list[str]:
    """What comes before every other word: the stop or start that keeps out of pain, and what was not measured."""
    computed = (
        [
            f"Range, repetitions, plates and help by hand are given for {short_span(travel.work_rad, along)} "
            "only, and never more than without the painful range."
        ]
        if travel.keeps_out
        else []
    )
    paragraphs = (
        [*describe_pain(travel, along, to_client=to_client), *computed],
        _describe_gaps(travel, along, to_client),
    )
    return [" ".join(sentences) for sentences in paragraphs if sentences]


def describe_pain(travel: WorkingTravel, along: Travel, *, to_client: bool = False) -> list[str]:
    """What is marked painful, and the stop or start that keeps out of it."""
    whose = "" if to_client else " for this client"
    lines = []
    outside = [span for span in travel.painful_rad if span not in travel.avoided_rad]
    if travel.avoided_rad:
        lines.append(
            f"{marked_text(travel.avoided_rad, along)}{whose}: {describe_way_out(travel, along)}, and "
            f"{_set(travel)}, so that no repetition goes into it."
        )
        if travel.one_sided:
            lines.append(
                f"Travel lies on both sides of it: use this machine on one side only, from "
                f"{short_span(travel.work_rad, along)}."
            )
    if outside:
        lines.append(
            f"{marked_text(outside, along)}{whose}: outside the measured travel "
            f"({ends_text(travel.measured_rad, along)}); never set the machine to go there."
        )
    return lines


def _set(travel: WorkingTravel) -> str:
    """Where stops go: a seat or a stop under the arm gives a later start."""
    if travel.begin_rad is None:
        return "set a stop there"
    return "set the start there" if travel.turn_rad is None else "set the start and a stop there"


def describe_ends(travel: WorkingTravel, along: Travel) -> list[str]:
    """The small parts beside the machine's ends at which capacity was not measured."""
    ends = [span for span in travel.unknown_rad if span not in travel.gaps_rad]
    if not ends:
        return []
    return [
        f"All this is from {short_span(travel.work_rad, along)}; at the very ends, "
        f"{listed([short_span(end, along) for end in ends])}, capacity was not measured."
    ]


def over_the_travel(travel: WorkingTravel, along: Travel) -> str:
    """``through the whole travel`` only where that is what is known; otherwise from where to where.

    The angles stand in what leads or ends the answer.
    """
    if travel.whole:
        return "through the whole travel"
    return f"from {shares_text(travel.work_rad, along)} of the travel"


def describe_way_out(travel: WorkingTravel, along: Travel) -> str:
    """The stop or start that keeps a client in what is left, as an instruction."""
    begin, turn = (
        None if at is None else describe_position(at, along) for at in (travel.begin_rad, travel.turn_rad)
    )
    if turn is not None and begin is not None:
        return f"start every repetition at {begin} and turn it at {turn}"
    if turn is not None:
        return f"turn every repetition at {turn}"
    return "" if begin is None else f"start every repetition at {begin}"


def describe_session_pain(hurts: SessionPain, along: Travel, *, to_client: bool = False) -> list[str]:
    """What of a set went where it hurts, and which stop or start keeps the next one out."""
    if not hurts.painful_rad:
        return []
    work, travel = hurts.work, hurts.travel
    lines = []
    if work is not None:
        many = len(work.painful_rad) > 1
        which = f"repetition{'s' if len(work.numbers) > 1 else ''} {listed([str(n) for n in work.numbers])}"
        who = "you" if to_client else "the client"
        lines.append(
            f"In {which} {who} worked in {spans_text(work.painful_rad, along)}, which "
            f"{'are' if many else 'is'} marked painful."
        )
    if travel is None:
        return [
            *lines,
            f"{marked_text(hurts.painful_rad, along)}, and too little travel is left beside it: leave this machine out "
            "until a licensed clinician has seen to the pain.",
        ]
    if work is None:
        lines.append(f"{marked_text(hurts.painful_rad, along)}; no repetition went into it.")
    way_out = describe_way_out(travel, along)
    next_set = [f"In the next set {way_out}, and {_set(travel)}."] if way_out else []
    return [" ".join([*lines, *next_set])]


def describe_reported(hurts: SessionPain, result: Path, client: Path | None) -> list[str]:
    """What keeps pain reported in a set for every later command."""
    marks = " ".join(f'--painful "{typed_span(span_rad, hurts.along)}"' for span_rad in hurts.reported_rad)
    if not marks:
        return []
    folder = shlex.quote(str(client)) if client is not None else "FOLDER"
    return [
        "Pain was reported in this set. Keep the mark in the client's folder, or later commands do not know of it: "
        f"feltload client pain {folder} --result {shlex.quote(str(result))} {marks}"
    ]


def _describe_gaps(travel: WorkingTravel, along: Travel, to_client: bool) -> list[str]:
    if not travel.gaps_rad:
        return []
    whose = "what you have" if to_client else "the capacity"
    lines = [
        f"From {spans_text(travel.gaps_rad, along)} {whose} was not measured: what the machine asks there cannot be "
        "determined, and no repetitions or plates are given for a movement through it."
    ]
    measure = "have it measured there" if to_client else "measure there (feltload client positions)"
    lines.append(f"Until then {describe_way_out(travel, along)}; or {measure}, unless it hurts.")
    return lines
