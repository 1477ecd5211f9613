"""Profiles compared with one another, in words: their differences, how well they repeat, what is assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from feltload.app.text.facts import describe
from feltload.app.text.machine.friction import describe_tight_spots
from feltload.app.text.numbers import force_text, force_with_band, listed, load_text, short_force
from feltload.app.text.position import describe_position, describe_span, shared_position, shared_span
from feltload.core import Flags, runs_of_true
from feltload.signal import Travel

if TYPE_CHECKING:
    from feltload.app.jobs.comparing.common_positions import By
    from feltload.app.jobs.comparing.comparison import Comparison, Pair, Repeat
    from feltload.coaching import ProfileDifference


def describe_difference(
    difference: ProfileDifference,
    k: int,
    *,
    first: str,
    second: str,
    together: str,
    travel: Travel,
    by: By | None = None,
) -> str:
    """One sentence about the load `k`: which is heavier where, or that they do not differ.

    Parameters
    ----------
    difference : ProfileDifference
        First minus second.
    k : int
        Index of the load.
    first, second, together : str
        The two by name, such as "the left arm", and both, such as "the two arms".
    travel : Travel
        The travel along which positions are given.
    by : {"handle", "travel", "angle"}, optional
        The only thing that positions of the two have in common; left out, a position of `travel` is one of both.
    """
    values, band = difference.difference_n[k], difference.curve_u95_n[k]
    load = load_text(float(difference.loads_kg[k]))

    def at(index: int) -> str:
        angle_rad = float(difference.angle_rad[index])
        return describe_position(angle_rad, travel) if by is None else shared_position(angle_rad, travel, by)

    def between(first: int, last: int) -> str:
        span = (float(difference.angle_rad[first]), float(difference.angle_rad[last]))
        return f"from {describe_span(span, travel) if by is None else shared_span(span, travel, by)}"

    def most(among: Flags) -> str:
        greatest = int(np.argmax(np.where(among, np.abs(values), -1.0)))
        return f"{at(greatest)}: by {force_text(float(abs(values[greatest])))}, ± {short_force(float(band[greatest]))}"

    established = difference.established[k]
    if not np.any(established):
        return (
            f"With {load}, {together} differ by no more than the measurement can show "
            f"(most at {most(np.ones_like(established))})."
        )
    parts = []
    for name, among in ((first, established & (values > 0)), (second, established & (values < 0))):
        if np.any(among):
            ends = [
                "over all of the shared travel" if stop - begin == among.size else between(begin, stop - 1)
                for begin, stop in runs_of_true(among)
            ]
            parts.append(f"{name} is the heavier one {listed(ends)}, most at {most(among)}")
    return f"With {load}, {'; '.join(parts)}."


def describe_repeat(repeat: Repeat) -> str:
    """How well measurements of one machine repeat at one load."""
    scatter = repeat.repeatability
    return (
        f"With {load_text(repeat.load_kg)}, the {repeat.measurements} measurements of this machine scatter by "
        f"{short_force(scatter.sem)} at one position (standard deviation of one); two of them would differ by "
        f"more than {short_force(scatter.minimal_difference)} in one case of twenty."
    )


def describe_assumed(pair: Pair, first: str) -> str:
    """What counts as common to a result and the first, and what does not."""
    return f"{first} and {pair.name}: {'; '.join(describe(fact) for fact in pair.assumed)}."


def _friction_sentences(comparison: Comparison) -> list[str]:
    """Whose friction is larger, on average over the travel, where that is more than the uncertainty."""
    first = comparison.results[0].name
    return [
        f"With {load_text(gap.load_kg)}, friction of {first if gap.difference_n > 0.0 else pair.name} is the larger by "
        f"{force_with_band(abs(gap.difference_n), gap.u95_n)} on average, compared with "
        f"{pair.name if gap.difference_n > 0.0 else first}."
        for pair in comparison.pairs
        for gap in pair.friction
        if gap.established
    ]


def describe_comparison(comparison: Comparison) -> list[str]:
    """Where the results differ from the first, and how well they repeat."""
    first = comparison.results[0].name
    bound = [
        f"{result.name}: {sentence}"
        for result in comparison.results
        for sentence in describe_tight_spots(result.estimate, int(np.argmax(result.estimate.loads_kg)))
    ]
    if not comparison.loads_kg:
        return ["No load was measured in all of them: their forces are shown, but not compared.", *bound]
    sentences = [
        describe_difference(
            pair.difference,
            k,
            first=first,
            second=pair.name,
            together=f"{first} and {pair.name}",
            travel=comparison.results[0].estimate.travel,
            by=None if comparison.same_machine else comparison.by,
        )
        for k in range(len(comparison.loads_kg))
        for pair in comparison.pairs
        if pair.difference is not None
    ]
    return [*sentences, *_friction_sentences(comparison), *bound] + [
        describe_repeat(repeat) for repeat in comparison.repeats
    ]
