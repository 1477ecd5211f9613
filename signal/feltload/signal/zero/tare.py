"""The force sensor's reading with nothing on it: from a marked window, or found, never guessed."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from feltload.core import Fact, Figure, Floats, Severity
from feltload.signal.zero.facts import NoZero, ZeroFact
from feltload.signal.zero.rests import (
    Blocks,
    Rest,
    end_rest,
    make_blocks,
    measure_rest,
    moved_within,
    rests_on_stop,
    start_rest,
)

if TYPE_CHECKING:
    from feltload.acquisition import Mark

__all__ = ["Tare", "find_tare"]

ALIKE_N = 2.0
"""Levels of two rests, or of a rest and the lowest force, that count as one whatever the range."""
ALIKE_SHARE = 0.01
"""The same as a share of the force's range: a zero may drift that far in a session."""
HAND_SHARE = 0.004
"""Wander of a held force as a share of it that no hand stays below.

Steady isometric holds vary by 1 to 5 % (common practice, no source)."""
HELD_LEAST_N = 15.0
HELD_SHARE = 0.05
"""Force, and its share of the range, that a marked zero must be off before it is refused: less may be a handle's own
weight or a drift (common practice, no source)."""
UNTARED_SHARE = 0.02
"""Standard uncertainty of a zero that no rest shows, as a share of the force's range: cells are sold with a zero within
1 to 2 % of what they are rated for, which is more than what is felt (common practice, no source)."""
REPORTED_DRIFT_N = 0.5
"""Smaller drifts of the zero are not reported."""


@dataclass(frozen=True)
class Tare:
    """The zero of a force stream.

    Parameters
    ----------
    zero_n : float
        To be subtracted; 0 with source "none".
    u_n : float
        Standard uncertainty of `zero_n`.
    drift_n : float or None
        Zero after minus zero before; None without a zero afterwards.
    window_s : tuple of float or None
        The hands-off window, seconds from the start of the recording.
    source : {"mark", "found", "none"}
    warnings : tuple of Fact
    """

    zero_n: float
    u_n: float
    drift_n: float | None
    window_s: tuple[float, float] | None
    source: Literal["mark", "found", "none"]
    warnings: tuple[Fact, ...] = ()


def find_tare(force: pd.DataFrame, inertial: pd.DataFrame | None, marks: Iterable[Mark]) -> Tare:
    """Find the zero of a force stream.

    Parameters
    ----------
    force : DataFrame
        With ``host_s`` and ``force_n``.
    inertial : DataFrame, optional
        Of the moving part; movement in the window speaks against hands off.
    marks : iterable of Mark
        A "tare" mark with an end decides. A "zero-after" mark gives the drift; of several the last.

    Returns
    -------
    Tare
        With source "none" and a warning where no window can be distinguished from a held load: that load is
        never subtracted.

    Notes
    -----
    Without a mark, a level stretch before the first movement is looked for, and one after the last. Two
    that agree are hands off, unless the force falls below them close to the stop, where the arm bears
    down. That it does so further away proves nothing: plates pass over the pivot. One rest alone must then
    be as steady as no hand is.
    """
    marks = tuple(marks)
    time_s = force["host_s"].to_numpy(dtype=float)
    force_n = force["force_n"].to_numpy(dtype=float)
    after = _marked(tuple(reversed(marks)), "zero-after", time_s)
    after_n = None if after is None else measure_rest(time_s, force_n, after).level_n
    marked = _marked(marks, "tare", time_s)
    if marked is not None:
        return _checked(time_s, force_n, inertial, marked, after, after_n)
    blocks = make_blocks(time_s, force_n, inertial)
    if blocks is None:
        return _none(None, (), NoZero.TOO_SHORT)
    return _found(blocks, start_rest(blocks, time_s, force_n), end_rest(blocks, time_s, force_n), after_n)


def _checked(
    time_s: Floats,
    force_n: Floats,
    inertial: pd.DataFrame | None,
    marked: tuple[float, float],
    after: tuple[float, float] | None,
    after_n: float | None,
) -> Tare:
    """Zero from a marked window, compared with the zero afterwards and the rests on the stop."""
    rest = measure_rest(time_s, force_n, marked)
    blocks = make_blocks(time_s, force_n, inertial)
    since = None if after_n is None else after_n - rest.level_n
    doubts = []
    if moved_within(inertial, marked):
        doubts.append(Fact(ZeroFact.MACHINE_MOVED, span_s=marked))
    if rest.wanders:
        doubts.append(Fact(ZeroFact.FORCE_WANDERS, span_s=marked))
    if blocks is not None:
        span = float(np.ptp(np.percentile(blocks.mean_n, [2.0, 98.0])))
        alike, held = max(ALIKE_N, ALIKE_SHARE * span), max(HELD_LEAST_N, HELD_SHARE * span)
        if since is not None and abs(since) > held:
            return _none(blocks, [rest], NoZero.WINDOWS_DIFFER, difference_n=since)
        others = rests_on_stop(blocks, time_s, force_n, [marked, *([] if after is None else [after])])
        below = _slack_level(others, rest.level_n - alike, alike)
        if below is not None and rest.level_n - below > held:
            return _none(blocks, [rest], NoZero.REST_FAR_BELOW, below_n=rest.level_n - below)
        if below is not None:
            doubts.append(Fact(ZeroFact.REST_BELOW_ZERO, figures={"below_n": rest.level_n - below}))
    if since is not None and abs(since) > REPORTED_DRIFT_N:
        doubts.append(_drifted(since))
    return Tare(rest.level_n, rest.u_n, since, marked, "mark", tuple(doubts))


def _drifted(drift_n: float) -> Fact:
    return Fact(ZeroFact.DRIFTED, Severity.NOTE, figures={"drift_n": drift_n})


def _slack_level(rests: Sequence[Rest], below_n: float, alike_n: float) -> float | None:
    """Level of rests that lie below a bound: of two or more that agree, or of one as steady as no hand is."""
    low = sorted((rest for rest in rests if rest.level_n < below_n), key=lambda rest: rest.level_n)
    for first, second in itertools.pairwise(low):
        if second.level_n - first.level_n <= alike_n:
            return 0.5 * (first.level_n + second.level_n)
    return next((rest.level_n for rest in low if rest.is_white), None)


def _found(blocks: Blocks, first: Rest | None, last: Rest | None, after_n: float | None) -> Tare:
    """Zero from the rests at both ends of a recording."""
    rests = [rest for rest in (first, last) if rest is not None]
    if not rests:
        return _none(blocks, rests, NoZero.NO_WINDOW)
    steady = [rest for rest in rests if not rest.wanders]
    if not steady:
        return _none(blocks, rests, NoZero.WANDERS)
    span = float(np.ptp(np.percentile(blocks.mean_n, [2.0, 98.0])))
    alike = max(ALIKE_N, ALIKE_SHARE * span)
    change = steady[-1].level_n - steady[0].level_n
    if abs(change) > alike:
        return _none(blocks, rests, NoZero.RESTS_DIFFER, difference_n=change)
    rest = steady[0]
    # Close to the stop the arm bears down on hands that hold it: the force can't fall below zero there.
    beneath = rest.level_n - float(np.percentile(blocks.mean_n[blocks.near_stop], 2.0))
    if beneath > alike:
        return _none(blocks, rests, NoZero.FALLS_NEAR_STOP, below_n=beneath)
    above = rest.level_n - float(np.percentile(blocks.mean_n, 2.0))
    where = "start" if rest is first else "end"
    if above > alike and len(steady) == 1 and not (rest.is_white and rest.wander_n <= HAND_SHARE * above):
        return _none(blocks, rests, NoZero.REST_ABOVE_LOWEST, above_n=above, where=where)
    facts = [Fact(ZeroFact.UNMARKED, figures={"where": "both" if len(steady) == 2 else where})]
    if above > alike:
        facts.append(Fact(ZeroFact.PULLS_OTHER_WAY, figures={"above_n": above}))
    since = change if len(steady) == 2 else None
    if since is not None and after_n is None and abs(since) > REPORTED_DRIFT_N:
        facts.append(_drifted(since))
    if after_n is not None and rest is not last:
        since = after_n - rest.level_n
    return Tare(rest.level_n, rest.u_n, since, rest.window_s, "found", tuple(facts))


def _none(blocks: Blocks | None, rests: Iterable[Rest], reason: NoZero, **figures: Figure) -> Tare:
    # The zero may be anywhere between 0 and a level at rest, or the lowest seen: rectangular (JCGM 100, 4.3.7).
    levels = [abs(rest.level_n) for rest in rests]
    if not levels and blocks is not None:
        levels = [abs(float(np.percentile(blocks.mean_n, 2.0)))]
    # Where nothing holds it down, a force that happens to pass zero says nothing of the cell's own zero.
    span_n = 0.0 if blocks is None else float(np.ptp(np.percentile(blocks.mean_n, [2.0, 98.0])))
    u = max(max(levels, default=0.0) / np.sqrt(3.0), UNTARED_SHARE * span_n)
    fact = Fact(ZeroFact.NOT_TARED, Severity.SERIOUS, figures={"reason": reason, **figures})
    return Tare(0.0, float(u), None, None, "none", (fact,))


def _marked(marks: tuple[Mark, ...], kind: str, time_s: Floats) -> tuple[float, float] | None:
    """First window of a kind that holds at least three samples."""
    for mark in marks:
        if mark.kind == kind and mark.until_s is not None:
            inside = (time_s >= mark.start_s) & (time_s <= mark.until_s)
            if inside.sum() >= 3:
                return mark.start_s, mark.until_s
    return None
