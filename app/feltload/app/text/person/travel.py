"""Which part of a machine's travel a client works in, and why, in words."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.app.jobs.painful import SessionPain
from feltload.app.text.numbers import degrees, listed
from feltload.coaching import WorkingTravel

Span = tuple[float, float]


def range_text(span_rad: Span) -> str:
    """``20° to 40°``."""
    return f"{degrees(span_rad[0])} to {degrees(span_rad[1])}"


def ranges_text(spans_rad: Sequence[Span]) -> str:
    """``0° to 10° and 20° to 40°``."""
    return listed([range_text(span) for span in spans_rad])


def marked_text(spans: Sequence[Span]) -> str:
    """``20° to 40° is marked painful``."""
    return f"{ranges_text(spans)} {'is' if len(spans) == 1 else 'are'} marked painful"


def describe_lead(travel: WorkingTravel, *, to_client: bool = False) -> list[str]:
    """What comes before every other word: the stop or start that keeps out of pain, and what was not measured."""
    computed = (
        [
            f"Range, repetitions, plates and help by hand are given for {range_text(travel.work_rad)} only, and never "
            "more than without the painful range."
        ]
        if travel.keeps_out
        else []
    )
    paragraphs = (
        [*describe_pain(travel, to_client=to_client), *computed],
        _describe_gaps(travel, to_client),
    )
    return [" ".join(sentences) for sentences in paragraphs if sentences]


def describe_pain(travel: WorkingTravel, *, to_client: bool = False) -> list[str]:
    """What is marked painful, and the stop or start that keeps out of it."""
    whose = "" if to_client else " for this client"
    lines = []
    outside = [span for span in travel.painful_rad if span not in travel.avoided_rad]
    if travel.avoided_rad:
        lines.append(
            f"{marked_text(travel.avoided_rad)}{whose}: {describe_way_out(travel)}, and {_set(travel)}, so that "
            "no repetition goes into it."
        )
        if travel.one_sided:
            lines.append(
                f"Travel lies on both sides of it: use this machine on one side only, from "
                f"{range_text(travel.work_rad)}."
            )
    if outside:
        lines.append(
            f"{marked_text(outside)}{whose}: outside the measured travel ({range_text(travel.measured_rad)}); "
            "never set the machine to go there."
        )
    return lines


def _set(travel: WorkingTravel) -> str:
    """Where stops go: a seat or a stop under the arm gives a later start."""
    if travel.begin_rad is None:
        return "set a stop there"
    return "set the start there" if travel.turn_rad is None else "set the start and a stop there"


def describe_ends(travel: WorkingTravel) -> list[str]:
    """The small parts beside the machine's ends at which capacity was not measured."""
    ends = [span for span in travel.unknown_rad if span not in travel.gaps_rad]
    if not ends:
        return []
    return [
        f"All this is from {range_text(travel.work_rad)}; at the very ends of the travel, {ranges_text(ends)}, "
        "capacity was not measured."
    ]


def over_the_travel(travel: WorkingTravel) -> str:
    """``through the whole travel`` only where that is what is known; otherwise from where to where."""
    return "through the whole travel" if travel.whole else f"from {range_text(travel.work_rad)}"


def describe_way_out(travel: WorkingTravel) -> str:
    """The stop or start that keeps a client in what is left, as an instruction."""
    turn, begin = travel.turn_rad, travel.begin_rad
    if turn is not None and begin is not None:
        return f"start every repetition at {degrees(begin)} and turn it at {degrees(turn)}"
    if turn is not None:
        return f"turn every repetition at {degrees(turn)}"
    return f"start every repetition at {degrees(begin)}" if begin is not None else ""


def describe_session_pain(hurts: SessionPain, *, to_client: bool = False) -> list[str]:
    """What of a set went where it hurts, and which stop or start keeps the next one out."""
    if not hurts.painful_rad:
        return []
    work, travel = hurts.work, hurts.travel
    lines = []
    if work is not None:
        which = f"repetition{'s' if len(work.numbers) > 1 else ''} {listed([str(n) for n in work.numbers])}"
        who = "you" if to_client else "the client"
        lines.append(f"In {which} {who} worked in {ranges_text(work.painful_rad)}, which is marked painful.")
    if travel is None:
        return [
            *lines,
            f"{marked_text(hurts.painful_rad)}, and too little travel is left beside it: leave this machine out "
            "until a licensed clinician has seen to the pain.",
        ]
    if work is None:
        lines.append(f"{marked_text(hurts.painful_rad)}; no repetition went into it.")
    way_out = describe_way_out(travel)
    next_set = [f"In the next set {way_out}, and {_set(travel)}."] if way_out else []
    return [" ".join([*lines, *next_set])]


def _describe_gaps(travel: WorkingTravel, to_client: bool) -> list[str]:
    if not travel.gaps_rad:
        return []
    whose = "what you have" if to_client else "the capacity"
    lines = [
        f"From {ranges_text(travel.gaps_rad)} {whose} was not measured: what the machine asks there cannot be "
        "determined, and no repetitions or plates are given for a movement through it."
    ]
    measure = "have it measured there" if to_client else "measure there (feltload client positions)"
    lines.append(f"Until then {describe_way_out(travel)}; or {measure}, unless it hurts.")
    return lines
