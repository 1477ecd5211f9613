"""What a load asks of a person, in plain words."""

from __future__ import annotations

import numpy as np

from feltload.app.text.numbers import force_text, found_load, load_text, short_force
from feltload.app.text.person.travel import (
    describe_ends,
    describe_lead,
    marked_text,
    over_the_travel,
)
from feltload.app.text.position import (
    Span,
    describe_position,
    describe_span,
    shares_text,
    short_position,
    short_span,
)
from feltload.coaching import (
    TRUSTED_REPETITIONS,
    UNDER_CHALLENGED,
    Change,
    ChangeKind,
    LoadLimit,
    Match,
    RepetitionRange,
    WhatIf,
)
from feltload.core import EXPANDED_COVERAGE_K
from feltload.signal import Travel

EVEN_SHARE = 0.05
LIGHT_DEMAND = 0.5
ROUNDING_DEG = 1e-6
HELD_DOWN_SHARE = 0.005
"""A demand lower than what was wanted by more than this shows that a painful range kept the plates down."""


def describe_match(match: Match, along: Travel, *, to_client: bool = False) -> list[str]:
    """Where the client runs out, and how evenly the machine asks.

    `to_client` speaks to the client, otherwise about the client.
    """
    who, has, whose = (
        ("you", "you have", "your") if to_client else ("this client", "the client has", "the client's")
    )
    hardest, easiest = match.limiting, int(np.argmin(match.demand))
    lines = describe_lead(match.travel, along, to_client=to_client)
    lines.append(
        f"With {load_text(match.load_kg)} the machine is hardest for {who} at "
        f"{describe_position(match.limiting_angle_rad, along)}{describe_give_or_take(match, along)}: it asks for "
        f"{force_text(match.load_n[hardest])} of the {force_text(match.capacity_n[hardest])} {has} there, "
        f"{demand_text(match)}."
    )
    if match.limiting_demand > 1.0:
        everywhere = match.demand[easiest] > 1.0
        where = over_the_travel(match.travel, along) if everywhere else "there"
        lines.append(
            f"That is more than {who} can produce {where}: without help the load is not moved "
            f"{'at all' if everywhere else 'past it'}. Take plates off."
        )
    elif match.under_challenged_share > EVEN_SHARE:
        lines.append(
            f"Over {100 * match.under_challenged_share:.0f} % of {_part(match, along)} it asks for less than "
            f"{100 * UNDER_CHALLENGED * match.limiting_demand:.0f} % of {whose} strength, seven tenths of the hardest: "
            f"there {'you are' if to_client else 'the client is'} under-challenged, most of all at "
            f"{describe_position(float(match.angle_rad[easiest]), along)}: {100 * match.demand[easiest]:.0f} %."
        )
    else:
        lines.append(
            f"It challenges {who} about evenly {over_the_travel(match.travel, along)}: nowhere less than "
            f"{100 * match.demand[easiest]:.0f} %."
        )
    if match.limiting_demand < LIGHT_DEMAND:
        lines.append(
            f"That is light {over_the_travel(match.travel, along)}: the plates, not the position, decide."
        )
    return [*lines, *describe_ends(match.travel, along)]


def demand_text(match: Match) -> str:
    """``83 ± 7 %``: what a load asks for at the hardest position, of what a person has."""
    return share_with_band(match.limiting_demand, match.u_limiting_demand)


def share_with_band(share: float, u: float) -> str:
    """``83 ± 7 %``, of a share and its standard uncertainty."""
    return f"{100.0 * share:.0f} ± {100.0 * EXPANDED_COVERAGE_K * u:.0f} %"


def describe_give_or_take(match: Match, along: Travel) -> str:
    """``, somewhere from 30 to 62 % of the travel (−5° to 12°)``; empty where it is known to a degree."""
    ends = limiting_ends(match, along)
    return "" if ends is None else f", somewhere from {short_span(ends, along)}"


def limiting_ends(match: Match, along: Travel) -> Span | None:
    """The range in which the limiting position lies, rounded outward to whole degrees."""
    low, high = np.rad2deg(match.limiting_range_rad)
    whole = (float(np.deg2rad(np.floor(low + ROUNDING_DEG))), float(np.deg2rad(np.ceil(high - ROUNDING_DEG))))
    ends = (max(whole[0], along.ends_rad[0]), min(whole[1], along.ends_rad[1]))
    return ends if ends[0] < ends[1] else None


def _part(match: Match, along: Travel) -> str:
    if match.travel.whole:
        return "the travel"
    return f"the range from {shares_text(match.travel.work_rad, along)} of the travel"


def describe_repetitions(repetitions: RepetitionRange) -> str:
    """``6 to 8``, ``more than 15``, ``none``."""
    if repetitions.high < 0.5:
        return "none"
    most = round(TRUSTED_REPETITIONS)
    low, high = round(repetitions.low), round(repetitions.high)
    if repetitions.low > TRUSTED_REPETITIONS:
        return f"more than {most}"
    if not repetitions.trusted:
        return f"{low} or more" if low >= most - 1 else f"{low} to more than {most}"
    return f"{low}" if low == high else f"{low} to {high}"


def describe_full_range(match: Match, along: Travel) -> str:
    """Repetitions over the travel that the client works in, as a range."""
    held_down = describe_held_down(match.repetitions)
    return (
        f"Repetitions to be expected {over_the_travel(match.travel, along)}: {describe_repetitions(match.repetitions)} "
        f"(an estimate{f', {held_down}' if held_down else ''})."
    )


def describe_held_down(repetitions: RepetitionRange) -> str:
    """Said where a painful range would otherwise have made them more."""
    return "no more than without the painful range" if repetitions.held_down else ""


def describe_shortening(match: Match, start_rad: float | None, stop_rad: float | None, along: Travel) -> str:
    """Whether a later start or an earlier turn lets a client do more, in one sentence."""
    full, short = match.repetitions, match.repetitions_within(from_rad=start_rad, to_rad=stop_rad)
    full_words, short_words = describe_repetitions(full), describe_repetitions(short)
    held_down = describe_held_down(short)
    change = describe_ends_wanted(start_rad, stop_rad, along)
    change = f"{change[:1].upper()}{change[1:]}"
    if short.middle - full.middle < 1.0 or short_words == full_words:
        why = (
            "a shorter range is no reason for more beside a painful one"
            if held_down
            else "it asks for about as much in what is left"
        )
        return f"{change} would not help: {why} ({short_words} repetitions)."
    otherwise = "going through" if match.travel.whole else over_the_travel(match.travel, along)
    return (
        f"{change} instead of {otherwise}: {short_words} repetitions to be expected instead of "
        f"{full_words}{f' ({held_down})' if held_down else ''}."
    )


def describe_ends_wanted(start_rad: float | None, stop_rad: float | None, along: Travel) -> str:
    """``starting at 20 % of the travel (…) and turning at 80 % of the travel (…)``; empty where neither is wanted."""
    return " and ".join(
        f"{verb} at {describe_position(at_rad, along)}"
        for verb, at_rad in (("starting", start_rad), ("turning", stop_rad))
        if at_rad is not None
    )


def describe_change(change: Change, along: Travel) -> str:
    """What is changed, as the head of a line."""
    at = describe_position(change.at_rad, along) if change.at_rad is not None else ""
    return {
        ChangeKind.NOTHING: "as it is",
        ChangeKind.PLATES: f"{load_text(change.load_kg)} on",
        ChangeKind.HIGHER_START: f"start at {at}",
        ChangeKind.SHORTER_RANGE: f"turn at {at}",
        ChangeKind.ADDED_FORCE: change.name,
    }[change.kind]


def describe_what_if(what_if: WhatIf, along: Travel) -> str:
    """A change and what becomes of the match, in one line."""
    match = what_if.match
    held_down = describe_held_down(match.repetitions)
    return (
        f"{describe_change(what_if.change, along)}: hardest at {short_position(match.limiting_angle_rad, along)}, "
        f"{100 * match.limiting_demand:.0f} % of capacity, evenness {match.evenness:.2f}, repetitions "
        f"{describe_repetitions(match.repetitions)}{f' ({held_down})' if held_down else ''}, "
        f"{_under_challenged(match, along)}"
    )


def _under_challenged(match: Match, along: Travel) -> str:
    share = 100 * match.under_challenged_share
    if share < 0.5:
        return "nowhere under-challenged"
    return f"under-challenged over {share:.0f} % of {_part(match, along)}"


def describe_limit(limit: LoadLimit, low_rad: float, high_rad: float, along: Travel) -> str:
    """The greatest load under a limit of force, after what is marked painful."""
    where = (low_rad, high_rad)
    pain = (
        f"{marked_text(limit.painful_rad, along)}: this load is for {short_span(where, along)} only; set a stop or "
        "start that keeps out of the rest. "
        if limit.painful_rad
        else ""
    )
    return (
        f"{pain}At most {found_load(limit.load_kg)} keeps the force under {short_force(limit.limit_n)} from "
        f"{describe_span(where, along)}; decided at {short_position(limit.at_rad, along)}, by the upper end of the "
        "band."
    )


def describe_load_for_demand(match: Match, demand: float, along: Travel) -> str:
    """Plates, and what they ask for at the limiting position; less than was wanted where pain keeps them down.

    `match` is with these plates, `demand` the fraction that was wanted.
    """
    where = f"at the limiting position {over_the_travel(match.travel, along)}"
    if match.limiting_demand < demand - HELD_DOWN_SHARE:
        return (
            f"For {100 * demand:.0f} % of capacity no more than {found_load(match.load_kg)}, as without the painful "
            f"range: it asks for {100 * match.limiting_demand:.0f} % {where}."
        )
    return f"{100 * demand:.0f} % of capacity {where} takes {found_load(match.load_kg)}."


def describe_made_of_plates(load_kg: float) -> str:
    """The load that the plates at hand make, from below."""
    return f"Of the plates at hand: {load_text(load_kg)}."


def describe_not_made(wanted_kg: float, made_kg: float) -> str:
    """A load that the plates at hand do not make, and the one below it."""
    return f"{load_text(wanted_kg)} cannot be made of the plates at hand: {load_text(made_kg)} is tried."


def describe_plates_at_hand(match: Match) -> str:
    """What the plates at hand make of a wanted load, from below."""
    return (
        f"Of the plates at hand: {load_text(match.load_kg)}, which asks for {100 * match.limiting_demand:.0f} % at the "
        "limiting position."
    )


def describe_inertia(added_n: float, tempo_s: float) -> str:
    """What inertia adds and takes off when the load is raised in a given time."""
    return f"Raised in {tempo_s:g} s, inertia adds up to {short_force(added_n)} early and takes as much off later."
