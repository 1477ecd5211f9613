"""The force sensor's reading with nothing on it: from a marked window, or found, never guessed."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from feltload.acquisition import Mark
from feltload.core import Floats
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
DRIFT_SAID_N = 0.5
"""Drift of the zero worth a warning."""


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
    warnings : tuple of str
    """

    zero_n: float
    u_n: float
    drift_n: float | None
    window_s: tuple[float, float] | None
    source: Literal["mark", "found", "none"]
    warnings: tuple[str, ...] = ()


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
        With source "none" and a warning where no window can be told from a held load: that load is
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
        return _none(None, (), "the force stream is too short to find a hands-off window")
    return _found(blocks, start_rest(blocks, time_s, force_n), end_rest(blocks, time_s, force_n), after_n)


def _checked(
    time_s: Floats,
    force_n: Floats,
    inertial: pd.DataFrame | None,
    marked: tuple[float, float],
    after: tuple[float, float] | None,
    after_n: float | None,
) -> Tare:
    """Zero from a marked window, held against the zero afterwards and the rests on the stop."""
    rest = measure_rest(time_s, force_n, marked)
    blocks = make_blocks(time_s, force_n, inertial)
    since = None if after_n is None else after_n - rest.level_n
    moved = "the machine moved during the hands-off window" if moved_within(inertial, marked) else None
    below, said = None, None
    if blocks is not None:
        span = float(np.ptp(np.percentile(blocks.mean_n, [2.0, 98.0])))
        alike, held = max(ALIKE_N, ALIKE_SHARE * span), max(HELD_LEAST_N, HELD_SHARE * span)
        if since is not None and abs(since) > held:
            return _none(
                blocks,
                [rest],
                f"the two hands-off windows differ by {abs(since):.1f} N, so something was held in the "
                f"{'first' if since < 0 else 'last'}",
            )
        others = rests_on_stop(blocks, time_s, force_n, [marked, *([] if after is None else [after])])
        below = _slack_level(others, rest.level_n - alike, alike)
        if below is not None and rest.level_n - below > held:
            return _none(
                blocks,
                [rest],
                f"at rest on the stop the force is {rest.level_n - below:.1f} N below that of the marked hands-off "
                "window, so something was held or hung on in that window",
            )
        if below is not None:
            said = (
                f"at rest on the stop the force is {rest.level_n - below:.1f} N below the zero: right "
                "if the handle's own weight hangs on the cell hands off, else something was held in that window"
            )
    drifted = None
    if since is not None and abs(since) > DRIFT_SAID_N:
        drifted = f"the zero drifted by {since:+.1f} N from start to end; a straight line was taken off"
    doubts = tuple(doubt for doubt in (moved, rest.doubt, said, drifted) if doubt is not None)
    return Tare(rest.level_n, rest.u_n, since, marked, "mark", doubts)


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
        return _none(blocks, rests, "no hands-off window at the start or the end")
    steady = [rest for rest in rests if rest.doubt is None]
    if not steady:
        return _none(blocks, rests, str(rests[0].doubt))
    span = float(np.ptp(np.percentile(blocks.mean_n, [2.0, 98.0])))
    alike = max(ALIKE_N, ALIKE_SHARE * span)
    change = steady[-1].level_n - steady[0].level_n
    if abs(change) > alike:
        return _none(
            blocks,
            rests,
            f"the force at rest is {abs(change):.1f} N {'higher' if change > 0 else 'lower'} at the end than "
            "at the start, so something was held at one of them",
        )
    rest = steady[0]
    # Close to the stop the arm bears down on hands that hold it: the force can't fall below zero there.
    beneath = rest.level_n - float(np.percentile(blocks.mean_n[blocks.near_stop], 2.0))
    if beneath > alike:
        return _none(
            blocks,
            rests,
            f"the force falls {beneath:.1f} N below its level at rest close to the stop, so something was held",
        )
    above = rest.level_n - float(np.percentile(blocks.mean_n, 2.0))
    where = "start" if rest is first else "end"
    if above > alike and len(steady) == 1 and not (rest.is_white and rest.wander_n <= HAND_SHARE * above):
        return _none(
            blocks,
            rests,
            f"the force at rest at the {where} is {above:.1f} N above the lowest, so something may have been held",
        )
    both = "level stretches at the start and the end"
    one = f"a still stretch at the {where}, as hands off"
    said = [f"the zero was not marked; it was taken from {both if len(steady) == 2 else one}"]
    if above > alike:
        said.append(
            f"the handle pulls the other way by up to {above:.1f} N: right if the load passes over the pivot or "
            "the motion was brisk, else something was held at rest; mark the hands-off rest to be sure"
        )
    since = change if len(steady) == 2 else None
    if since is not None and after_n is None and abs(since) > DRIFT_SAID_N:
        said.append(f"the zero drifted by {since:+.1f} N from start to end; a straight line was taken off")
    if after_n is not None and rest is not last:
        since = after_n - rest.level_n
    return Tare(rest.level_n, rest.u_n, since, rest.window_s, "found", tuple(said))


def _none(blocks: Blocks | None, rests: Iterable[Rest], why: str) -> Tare:
    # The zero may be anywhere between 0 and a level at rest, or the lowest seen: rectangular (JCGM 100, 4.3.7).
    levels = [abs(rest.level_n) for rest in rests]
    if not levels and blocks is not None:
        levels = [abs(float(np.percentile(blocks.mean_n, 2.0)))]
    remedy = "record a few seconds hands off at the start and mark them"
    u = max(levels, default=0.0) / np.sqrt(3.0)
    return Tare(0.0, float(u), None, None, "none", (f"{why}: the force is not tared; {remedy}",))


def _marked(marks: tuple[Mark, ...], kind: str, time_s: Floats) -> tuple[float, float] | None:
    """First window of a kind that holds at least three samples."""
    for mark in marks:
        if mark.kind == kind and mark.until_s is not None:
            inside = (time_s >= mark.start_s) & (time_s <= mark.until_s)
            if inside.sum() >= 3:
                return mark.start_s, mark.until_s
    return None
