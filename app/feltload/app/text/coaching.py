"""Sentences of the facts of `feltload.coaching`."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from feltload.app.text.common import Sentence, numbers_in
from feltload.app.text.numbers import force_with_band, listed, load_text, short_force
from feltload.coaching import CapacityFact, ClientFileFact, MatchFact
from feltload.core import Fact


def _hold_moved(fact: Fact) -> str:
    start = f"effort at {fact.span_s[0]:.1f} s" if fact.span_s is not None else "an effort"
    moved = f"the lever moved {np.rad2deg(fact.figure('movement_rad')):.1f}°"
    if "movement_m" in fact.figures:
        moved = f"the handle moved {100.0 * fact.figure('movement_m'):.0f} cm"
    return (
        f"{start} left out: {moved} within its steadiest second; fix the arm against a stop or overload it, and hold "
        "again"
    )


def _load_far(fact: Fact) -> str:
    lightest, heaviest = (
        load_text(fact.figure(f"{which}_measured_kg")) for which in ("lightest", "heaviest")
    )
    measured = lightest if lightest == heaviest else f"{lightest} to {heaviest}"
    return f"{load_text(fact.figure('load_kg'))} lies far from the loads measured ({measured}): a rough prediction"


def describe_load_above(fact: Fact) -> str:
    """A load heavier than any that was measured: what comes before it."""
    heaviest = load_text(fact.figure("heaviest_measured_kg"))
    return (
        f"{load_text(fact.figure('load_kg'))} is more than the machine was measured with ({heaviest}): the rated loads "
        "of machine, cell, shackles and straps come first"
    )


def _carried(fact: Fact) -> str:
    friction_n, loads = fact.figure("friction_n"), numbers_in(fact, "loads_kg")
    known = "u95_n" in fact.figures
    size = force_with_band(friction_n, fact.figure("u95_n")) if known else short_force(friction_n)
    return (
        f"friction with {load_text(fact.figure('load_kg'))} was not measured: from the line through "
        f"{listed([load_text(load) for load in loads])} it is {size}"
    )


def _holds(count: float) -> str:
    return (
        "a hold at a position marked painful does not count"
        if count < 1.5
        else f"each of {count:.0f} holds at positions marked painful does not count"
    )


def _left(why: str) -> Sentence:
    return lambda fact: f"{fact.figures['path']} is left as it is: {why}"


SENTENCES: Mapping[str, Sentence] = {
    CapacityFact.HOLD_MOVED: _hold_moved,
    CapacityFact.PAINFUL_HOLDS_UNUSED: lambda fact: (
        f"{_holds(fact.figure('count'))} for the capacity, and only keeps it from rising elsewhere"
    ),
    CapacityFact.SPREAD_OF_TRIES_ASSUMED: lambda fact: (
        f"one try at each position: a spread of {100 * fact.figure('spread'):.0f} % between tries is assumed"
    ),
    CapacityFact.LATER_TRIES_WEAKER: lambda _: (
        "later tries are weaker than earlier ones at the same position: rest longer between holds"
    ),
    ClientFileFact.NOT_OURS: _left("nothing here wrote it; look whether it is about this client"),
    ClientFileFact.CHANGED: _left(
        "it has changed since it was written; delete it yourself if it is this client's"
    ),
    ClientFileFact.SOURCE: _left("results were computed from it; delete it yourself if it is this client's"),
    ClientFileFact.UNFINISHED: _left(
        "its recording was cut off, so that nothing says whether it is still the same; look at it, and delete it "
        "yourself if it is this client's"
    ),
    ClientFileFact.LINK: _left("a link leads there now, which is not followed"),
    ClientFileFact.GONE: lambda fact: (
        f"{fact.figures['path']} is not there any more; where it was moved or copied to, this client's results remain"
    ),
    MatchFact.LOAD_FAR_FROM_MEASURED: _load_far,
    MatchFact.LOAD_ABOVE_MEASURED: describe_load_above,
    MatchFact.FRICTION_CARRIED: _carried,
    MatchFact.ABOVE_CAPACITY_EVERYWHERE: lambda _: (
        "this load is above the capacity everywhere: no repetition is to be expected with it"
    ),
    MatchFact.ABOVE_CAPACITY_AT_LIMIT: lambda _: (
        "this load is above the capacity at the limiting position: the client stops before it"
    ),
    MatchFact.LIMITING_POSITION_UNCLEAR: lambda _: (
        "demand is so even, or so uncertain, that the limiting position cannot be determined"
    ),
}
"""Kind -> what is said of it."""
