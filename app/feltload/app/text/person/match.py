"""What a load asks of a person, in plain words."""

from __future__ import annotations

import numpy as np

from feltload.app.text.numbers import degrees, force_text, load_text, short_force
from feltload.app.text.person.travel import (
    describe_ends,
    describe_lead,
    marked_text,
    over_the_travel,
    range_text,
)
from feltload.app.text.position import Travel, describe_position, short_position
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

EVEN_SHARE = 0.05
LIGHT_DEMAND = 0.5
HELD_DOWN_SHARE = 0.005
"""A demand lower than what was wanted by more than this shows that a painful range kept the plates down."""


def describe_match(match: Match, *, to_client: bool = False, along: Travel | None = None) -> list[str]:
    """Where the client runs out, and how evenly the machine asks.

    `to_client` speaks to the client, otherwise about the client; `along` is the travel with the handle's way.
    """
    who, has, whose = (
        ("you", "you have", "your") if to_client else ("this client", "the client has", "the client's")
    )
    hardest, easiest = match.limiting, int(np.argmin(match.demand))
    low, high = match.limiting_range_rad
    along = along or Travel.between(match.travel.measured_rad)
    lines = describe_lead(match.travel, to_client=to_client)
    lines.append(
        f"With {load_text(match.load_kg)} the machine is hardest for {who} at "
        f"{describe_position(match.limiting_angle_rad, along)}, "
        f"somewhere between {degrees(low)} and {degrees(high)}: it asks for {force_text(match.load_n[hardest])} of "
        f"the {force_text(match.capacity_n[hardest])} {has} there, {100 * match.limiting_demand:.0f} % "
        f"± {100 * EXPANDED_COVERAGE_K * match.u_limiting_demand:.0f} %."
    )
    if match.limiting_demand > 1.0:
        everywhere = match.demand[easiest] > 1.0
        lines.append(
            f"That is more than {who} can produce {over_the_travel(match.travel) if everywhere else 'there'}: without "
            f"help the load is not moved {'at all' if everywhere else 'past it'}. Take plates off."
        )
    elif match.under_challenged_share > EVEN_SHARE:
        lines.append(
            f"Over {100 * match.under_challenged_share:.0f} % of {_part(match)} it asks for less than "
            f"{100 * UNDER_CHALLENGED * match.limiting_demand:.0f} % of {whose} strength, seven tenths of the hardest: "
            f"there {'you are' if to_client else 'the client is'} under-challenged, most of all at "
            f"{describe_position(float(match.angle_rad[easiest]), along)} ({100 * match.demand[easiest]:.0f} %)."
        )
    else:
        lines.append(
            f"It challenges {who} about evenly {over_the_travel(match.travel)}: nowhere less than "
            f"{100 * match.demand[easiest]:.0f} %."
        )
    if match.limiting_demand < LIGHT_DEMAND:
        lines.append(f"That is light {over_the_travel(match.travel)}: the plates, not the position, decide.")
    return [*lines, *describe_ends(match.travel)]


def _part(match: Match) -> str:
    return "the travel" if match.travel.whole else range_text(match.travel.work_rad)


def describe_repetitions(repetitions: RepetitionRange) -> str:
    """``6 to 8``, ``more than 15``, ``none``."""
    if repetitions.high < 0.5:
        return "none"
    most = round(TRUSTED_REPETITIONS)
    low, high = round(repetitions.low), round(repetitions.high)
    if repetitions.low > TRUSTED_REPETITIONS:
        return f"more than {most}"
    if not repetitions.trusted:
        return f"{most} or more" if low == most else f"{low} to more than {most}"
    return f"{low}" if low == high else f"{low} to {high}"


def describe_full_range(match: Match) -> str:
    """Repetitions over the travel that the client works in, as a range."""
    held_down = describe_held_down(match.repetitions)
    return (
        f"Repetitions to be expected {over_the_travel(match.travel)}: {describe_repetitions(match.repetitions)} "
        f"(an estimate{f', {held_down}' if held_down else ''})."
    )


def describe_held_down(repetitions: RepetitionRange) -> str:
    """Said where a painful range would otherwise have made them more."""
    return "no more than without the painful range" if repetitions.held_down else ""


def describe_shortening(match: Match, stop_rad: float) -> str:
    """Whether turning at `stop_rad` lets a client do more, in one sentence."""
    full, short = match.repetitions, match.repetitions_up_to(stop_rad)
    full_words, short_words, stop = (
        describe_repetitions(full),
        describe_repetitions(short),
        degrees(stop_rad),
    )
    held_down = describe_held_down(short)
    if short.middle - full.middle < 1.0 or short_words == full_words:
        why = (
            "a shorter range is no reason for more beside a painful one"
            if held_down
            else "it asks for about as much up to there"
        )
        return f"Turning at {stop} would not help: {why} ({short_words} repetitions)."
    turn = match.travel.work_rad[1]
    otherwise = "going through" if match.travel.whole else f"at {degrees(turn)}"
    return (
        f"Turning at {stop} instead of {otherwise}: {short_words} repetitions to be expected instead of "
        f"{full_words}{f' ({held_down})' if held_down else ''}."
    )


def describe_change(change: Change) -> str:
    """What is changed, as the head of a line."""
    at = degrees(change.at_rad) if change.at_rad is not None else ""
    return {
        ChangeKind.NOTHING: "as it is",
        ChangeKind.PLATES: f"{load_text(change.load_kg)} on",
        ChangeKind.HIGHER_START: f"start at {at}",
        ChangeKind.SHORTER_RANGE: f"turn at {at}",
        ChangeKind.ADDED_FORCE: change.name,
    }[change.kind]


def describe_what_if(what_if: WhatIf) -> str:
    """A change and what becomes of the match, in one line."""
    match = what_if.match
    held_down = describe_held_down(match.repetitions)
    return (
        f"{describe_change(what_if.change)}: hardest at "
        f"{short_position(match.limiting_angle_rad, Travel.between(match.travel.measured_rad))}, "
        f"{100 * match.limiting_demand:.0f} % of capacity, evenness {match.evenness:.2f}, repetitions "
        f"{describe_repetitions(match.repetitions)}{f' ({held_down})' if held_down else ''}, under-challenged over "
        f"{100 * match.under_challenged_share:.0f} % of {_part(match)}"
    )


def describe_limit(limit: LoadLimit, low_rad: float, high_rad: float) -> str:
    """The greatest load under a limit of force, after what is marked painful."""
    pain = (
        f"{marked_text(limit.painful_rad)}: this load "
        f"is for {degrees(low_rad)} to {degrees(high_rad)} only; set a stop or start that keeps out of the rest. "
        if limit.painful_rad
        else ""
    )
    return (
        f"{pain}At most {limit.load_kg:.1f} kg keeps the force under {short_force(limit.limit_n)} between "
        f"{degrees(low_rad)} and {degrees(high_rad)} (decided at {degrees(limit.at_rad)}, upper end of the band)."
    )


def describe_load_for_demand(match: Match, demand: float) -> str:
    """Plates, and what they ask for at the limiting position; less than was wanted where pain keeps them down.

    `match` is with these plates, `demand` the fraction that was wanted.
    """
    where = f"at the limiting position {over_the_travel(match.travel)}"
    if match.limiting_demand < demand - HELD_DOWN_SHARE:
        return (
            f"For {100 * demand:.0f} % of capacity no more than {match.load_kg:.1f} kg, as without the painful range: "
            f"it asks for {100 * match.limiting_demand:.0f} % {where}."
        )
    return f"{100 * demand:.0f} % of capacity {where} takes {match.load_kg:.1f} kg."


def describe_plates_at_hand(match: Match) -> str:
    """What the plates at hand make of a wanted load, from below."""
    return (
        f"Of the plates at hand: {load_text(match.load_kg)}, which asks for {100 * match.limiting_demand:.0f} % at the "
        "limiting position."
    )


def describe_inertia(added_n: float, tempo_s: float) -> str:
    """What inertia adds and takes off when the load is raised in a given time."""
    return f"Raised in {tempo_s:g} s, inertia adds up to {short_force(added_n)} early and takes as much off later."
