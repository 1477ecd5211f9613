"""Profiles compared with one another, in words: their differences, how well they repeat, what is assumed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.app.text.facts import describe
from feltload.app.text.machine.friction import describe_tight_spots
from feltload.app.text.numbers import force_text, force_with_band, listed, load_text, number, short_force
from feltload.app.text.position import describe_position, describe_span, shared_position, shared_span
from feltload.core import Flags, runs_of_true
from feltload.signal import Travel, tight_spots

if TYPE_CHECKING:
    from feltload.app.jobs.comparing.common_positions import By
    from feltload.app.jobs.comparing.comparison import Comparison, Repeat
    from feltload.app.jobs.comparing.pairs import LoadDifference, Pair
    from feltload.coaching import CurveDifference, ScaledBy

MOST_DESCRIBED: Final = 6
"""More results than these are told by a table; sentences say how many differ."""

MEASURED_ALIKE: Final = "differ by no more than the measurement can show"


@dataclass(frozen=True)
class Compared:
    """How a difference is told: which is more, a size, the size of a band."""

    more: str
    size: Callable[[float], str]
    band: Callable[[float], str]


def _percent(part: float) -> str:
    return f"{number(100.0 * part, '.1f')} %"


FORCE: Final = Compared("is the heavier one", force_text, short_force)
FRICTION: Final = Compared("has more friction", force_text, short_force)
SCALED: Final = Compared("is the heavier one for its own size", _percent, _percent)


def describe_difference(
    difference: CurveDifference,
    lead: str,
    *,
    first: str,
    second: str,
    together: str,
    travel: Travel,
    by: By | None = None,
    compared: Compared = FORCE,
) -> str:
    """One sentence about a difference: which is heavier where, or that they do not differ.

    Parameters
    ----------
    difference : CurveDifference
        First minus second.
    lead : str
        What it begins with, such as "With 40 kg".
    first, second, together : str
        The two by name, such as "the left arm", and both, such as "the two arms".
    travel : Travel
        The travel along which positions are given.
    by : {"handle", "travel", "angle"}, optional
        The only thing that positions of the two have in common; left out, a position of `travel` is one of both.
    compared : Compared
        What is compared.
    """
    values, band = difference.values, difference.curve_u95

    def at(index: int) -> str:
        angle_rad = float(difference.angle_rad[index])
        return describe_position(angle_rad, travel) if by is None else shared_position(angle_rad, travel, by)

    def between(first: int, last: int) -> str:
        span = (float(difference.angle_rad[first]), float(difference.angle_rad[last]))
        return f"from {describe_span(span, travel) if by is None else shared_span(span, travel, by)}"

    def most(among: Flags) -> str:
        greatest = int(np.argmax(np.where(among, np.abs(values), -1.0)))
        size, width = float(abs(values[greatest])), float(band[greatest])
        return f"{at(greatest)}: by {compared.size(size)}, ± {compared.band(width)}"

    established = difference.established
    if not np.any(established):
        return f"{lead}, {together} {MEASURED_ALIKE} (most at {most(np.ones_like(established))})."
    parts = []
    for name, among in ((first, established & (values > 0)), (second, established & (values < 0))):
        if np.any(among):
            ends = [
                "over all of the shared travel" if stop - begin == among.size else between(begin, stop - 1)
                for begin, stop in runs_of_true(among)
            ]
            parts.append(f"{name} {compared.more} {listed(ends)}, most at {most(among)}")
    return f"{lead}, {'; '.join(parts)}."


def describe_repeat(repeat: Repeat) -> str:
    """How well measurements of one machine repeat at one load."""
    scatter = repeat.repeatability
    return (
        f"With {load_text(repeat.load_kg)}, the {repeat.measurements} measurements of this machine scatter by "
        f"{short_force(scatter.sem)} at one position (standard deviation of one); two of them would differ by "
        f"more than {short_force(scatter.minimal_difference)} in one case of twenty."
    )


def describe_assumed(comparison: Comparison) -> list[str]:
    """What counts as common to the results and the first, and what does not; those alike in one line."""
    first = comparison.results[0].name
    alike: dict[str, list[str]] = {}
    for pair in comparison.pairs:
        if pair.loads:
            words = "; ".join(describe(fact) for fact in pair.assumed)
            alike.setdefault(words, []).append(pair.name)
    return [f"{first} and {_named(names)}: {words}." for words, names in alike.items()]


def describe_together(comparison: Comparison) -> str:
    """What bands of several differences hold; empty for a single one."""
    if comparison.curves < 2:
        return ""
    return (
        f"Bands are wide enough to hold all {comparison.curves} differences together, each over its whole travel, in "
        "95 % of cases, so that none of many differs by chance; those of friction likewise."
    )


def describe_comparison(comparison: Comparison) -> list[str]:
    """Where the results differ from the first, and how well they repeat."""
    many = len(comparison.results) > MOST_DESCRIBED
    bound = _bound_counted(comparison) if many else _bound(comparison)
    if not comparison.compared:
        return ["No load was measured in all of them: their forces are shown, but not compared.", *bound]
    told = _by_count(comparison) if many else _by_pair(comparison)
    return [*told, *bound, *(describe_repeat(repeat) for repeat in comparison.repeats)]


def _bound(comparison: Comparison) -> list[str]:
    """Where friction of each result stands out of the rest of its own."""
    return [
        f"{result.name}: {sentence}"
        for result in comparison.results
        for sentence in describe_tight_spots(result.estimate, result.heaviest)
    ]


def _bound_counted(comparison: Comparison) -> list[str]:
    names = [r.name for r in comparison.results if tight_spots(r.estimate, r.heaviest)]
    if not names:
        return []
    shown = (
        listed(names) if len(names) <= MOST_DESCRIBED else f"{len(names)} of the {len(comparison.results)}"
    )
    return [
        f"Friction stands out at some place with {shown}, as the last table says. Take the load off, secure the arm, "
        "and look at what slides, turns or touches there."
    ]


def _by_pair(comparison: Comparison) -> list[str]:
    """A sentence a pair and load; those that do not differ share one where there are several pairs."""
    sentences = []
    for at_load in _by_load(comparison):
        alike = [pair.name for pair, at in at_load if not at.force.established.any()]
        told = [one for one in at_load if len(at_load) == 1 or one[0].name not in alike]
        sentences += [_force_sentence(comparison, pair, at) for pair, at in told]
        if len(at_load) > 1 and alike:
            lead = _lead(at_load[0][1], comparison.scaled_by)
            sentences.append(f"{lead}, {listed([comparison.results[0].name, *alike])} {MEASURED_ALIKE}.")
    for at_load in _by_load(comparison):
        for pair, at in at_load:
            sentences += _friction_sentences(comparison, pair, at)
    return sentences


def _by_count(comparison: Comparison) -> list[str]:
    """How many differ at each load, in force and friction; the table says which."""
    first, sentences = comparison.results[0].name, []
    for at_load in _by_load(comparison):
        apart = sum(bool(at.force.established.any()) for _, at in at_load)
        rubbing = [at.friction for _, at in at_load if at.friction is not None]
        lead = _lead(at_load[0][1], comparison.scaled_by)
        words = f"{lead}, force differs from that of {first} with {_some(apart, len(at_load))}"
        if rubbing:
            count = sum(_differs(friction) for friction in rubbing)
            words += f", friction with {_some(count, len(rubbing))}"
        sentences.append(f"{words}, by more than the measurements' uncertainty: the table below says where.")
    return sentences


def _by_load(comparison: Comparison) -> list[list[tuple[Pair, LoadDifference]]]:
    most = max(len(pair.loads) for pair in comparison.pairs)
    return [[(pair, pair.loads[k]) for pair in comparison.pairs if k < len(pair.loads)] for k in range(most)]


def _some(count: int, of: int) -> str:
    return f"{count or 'none'} of the other {of}"


def _differs(friction: CurveDifference) -> bool:
    return friction.mean_established or bool(friction.established.any())


def _force_sentence(comparison: Comparison, pair: Pair, at: LoadDifference) -> str:
    first = comparison.results[0]
    return describe_difference(
        at.force,
        _lead(at, comparison.scaled_by),
        first=first.name,
        second=pair.name,
        together=f"{first.name} and {pair.name}",
        travel=first.estimate.travel,
        by=None if comparison.same_machine else comparison.by,
        compared=FORCE if comparison.scaled_by is None else SCALED,
    )


def _lead(at: LoadDifference, scaled_by: ScaledBy | None) -> str:
    load = load_text(at.load_kg)
    if at.load_kg != at.other_load_kg:
        load = f"{load} and {load_text(at.other_load_kg)}"
    return (
        f"With {load}" if scaled_by is None else f"With {load}, each as a part of its own {scaled_by} force"
    )


def _friction_sentences(comparison: Comparison, pair: Pair, at: LoadDifference) -> list[str]:
    """Whose friction is larger on average, and where, as far as that is more than the uncertainty."""
    friction, first = at.friction, comparison.results[0]
    if friction is None:
        return []
    lead = f"With {load_text(at.load_kg)}"
    sentences = []
    if friction.mean_established:
        more, less = (first.name, pair.name) if friction.mean > 0.0 else (pair.name, first.name)
        by = force_with_band(abs(friction.mean), friction.mean_u95)
        sentences.append(
            f"{lead}, friction of {more} is the larger by {by} on average, compared with {less}."
        )
    if friction.somewhere.any() or (friction.established.any() and not friction.mean_established):
        sentences.append(
            describe_difference(
                friction,
                lead,
                first=first.name,
                second=pair.name,
                together=f"{first.name} and {pair.name}",
                travel=first.estimate.travel,
                by=None if comparison.same_machine else comparison.by,
                compared=FRICTION,
            )
        )
    return sentences


def _named(names: Sequence[str]) -> str:
    return listed(names) if len(names) <= MOST_DESCRIBED else f"{len(names)} others"
