"""Half-repetitions and recordings that disagree: a machine repeats itself, so hands or another machine were there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.core import Fact, Figure, Flags, Floats, Severity
from feltload.signal.alignment.clock_course import lag_course
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.solved import Solved
from feltload.signal.errors import ProfileError
from feltload.signal.profile.facts import ProfileFact
from feltload.signal.regression.rows import Rows

DOUBTFUL_SHARE = 0.3
"""From this share of the half-repetitions on, the larger group need not be the machine alone."""

SINGLE_N = 10.0
"""A single half-repetition that is off by less is not reported."""

FEWEST_ROWS = 3
"""Fewer rows of one half-repetition are not counted."""

APART_SHARE = 0.03
"""A half-repetition that differs by this part of the peak is not the machine's alone."""

APART_OVER = 0.15
"""Of the travel: what differs over less is a knock or a jerk."""

MOSTLY_APART = 0.5
"""Above this share of the half-repetitions no group of them is known to be the machine's."""

FEWEST_TO_COMPARE = 4
OTHER_SHARE = 0.08
"""Recordings of one load on one machine do not differ by this part of the peak: plates of one nominal mass differ by
3 % (common practice, no source)."""
SAME_LOAD_KG = 1e-3
SLOW_CELL_S = 0.055
"""A cell that samples no oftener misses grips, turns and the way friction turns over (a few tenths of a second long:
common practice, no source), and half-repetitions differ for it."""
STRETCHES = 20
"""Parts of the travel in which half-repetitions are compared."""


@dataclass(frozen=True)
class LeftOut:
    """Half-repetitions of one load and direction that were off over part of the travel.

    Attributes
    ----------
    load_kg : float
    raising : bool
    count, of : int
        Half-repetitions that were off somewhere, and half-repetitions in all.
    low_rad, high_rad : float
        Where along the travel (rotation from the start stop).
    apart_n : float
        Median force of these less that of the others.
    """

    load_kg: float
    raising: bool
    count: int
    of: int
    low_rad: float
    high_rad: float
    apart_n: float


def left_out(solved: Solved) -> list[LeftOut]:
    """Half-repetitions that did not agree with the others, by load and direction."""
    groups = []
    for load in solved.layout.loads_kg:
        for raising in (True, False):
            count, of, where, apart = 0, 0, [], []
            for rows, kept, residual in zip(
                solved.sessions, solved.fit.kept, solved.fit.residuals_n, strict=True
            ):
                if abs(rows.aligned.load_kg - load) > 1e-3:
                    continue
                for number in np.unique(rows.run):
                    if (rows.runs[number].direction > 0) != raising:
                        continue
                    off = (rows.run == number) & ~kept
                    of += 1
                    if np.count_nonzero(off) >= FEWEST_ROWS:
                        count += 1
                        where.append(rows.q_rad[off])
                        apart.append(residual[off])
            if count:
                q, difference = np.concatenate(where), np.concatenate(apart)
                groups.append(
                    LeftOut(
                        float(load),
                        raising,
                        count,
                        of,
                        float(np.min(q)),
                        float(np.max(q)),
                        float(np.median(difference)),
                    )
                )
    return groups


def disagreement_facts(solved: Solved, start_angle_rad: float, peak_n: float) -> list[Fact]:
    """What was left out, and what it leaves in doubt."""
    facts = apart_facts(solved, peak_n)
    in_groups = not facts
    for group in left_out(solved):
        if group.count == 1 and abs(group.apart_n) < SINGLE_N:
            continue
        split = in_groups and group.count >= DOUBTFUL_SHARE * group.of
        at_load: dict[str, Figure] = {"load_kg": group.load_kg} if solved.layout.loads_differ else {}
        facts.append(
            Fact(
                ProfileFact.HALF_REPETITIONS_LEFT_OUT,
                Severity.SERIOUS if split else Severity.CAUTION,
                figures={
                    **at_load,
                    "way": "raising" if group.raising else "lowering",
                    "count": group.count,
                    "of": group.of,
                    "apart_n": group.apart_n,
                    "low_rad": group.low_rad + start_angle_rad,
                    "high_rad": group.high_rad + start_angle_rad,
                    "split": split,
                    "gives": solved.gives,
                    **_slow_cell(solved),
                },
            )
        )
    return facts


def apart_facts(solved: Solved, peak_n: float) -> list[Fact]:
    """Whether more half-repetitions differ from the fit than agree with it."""
    halves = [half for group in _halves(solved).values() if len(group) >= FEWEST_TO_COMPARE for half in group]
    if not halves:
        return []
    apart = np.abs(np.stack([half.left_n for half in halves]))
    off = apart > APART_SHARE * peak_n
    differ = _over_enough(off)
    if np.count_nonzero(differ) <= MOSTLY_APART * len(halves):
        return []
    size = float(np.median(apart[differ][off[differ]]))
    figures: dict[str, Figure] = {
        "count": int(np.count_nonzero(differ)),
        "of": len(halves),
        "apart_n": size,
        "share": size / peak_n,
        "gives": solved.gives,
        **_slow_cell(solved),
    }
    return [Fact(ProfileFact.HALF_REPETITIONS_DIFFER, Severity.SERIOUS, figures=figures)]


def _slow_cell(solved: Solved) -> dict[str, Figure]:
    """How often the slowest load cell samples, where that alone makes half-repetitions differ."""
    slowest = max(rows.aligned.force_step_s for rows in solved.sessions)
    return {"slow_hz": 1.0 / slowest} if slowest > SLOW_CELL_S else {}


def require_one_machine(solved: Solved, start_angle_rad: float, peak_n: float) -> None:
    """Refuse recordings of one load that differ as those of two machines do.

    Raises
    ------
    ProfileError
        Names both.
    """
    q = np.concatenate([rows.q_rad for rows in solved.sessions])
    halves = [half for group in _halves(solved).values() for half in group]
    curves: list[tuple[Rows, Floats]] = []
    for rows in solved.sessions:
        own = np.stack([half.left_n for half in halves if half.rows is rows])
        known = np.isfinite(own)
        total = np.sum(np.where(known, own, 0.0), axis=0)
        curve = np.where(np.any(known, axis=0), total / np.maximum(np.sum(known, axis=0), 1), np.nan)
        for other, before in curves:
            apart = np.abs(np.nan_to_num(curve - before))
            same_load = abs(other.aligned.load_kg - rows.aligned.load_kg) < SAME_LOAD_KG
            if same_load and _over_enough(apart > OTHER_SHARE * peak_n):
                at = int(np.argmax(apart))
                angle = start_angle_rad + float(np.min(q)) + (at + 0.5) * float(np.ptp(q)) / STRETCHES
                raise ProfileError(
                    f"{other.aligned.name} and {rows.aligned.name} are not of one machine with one load: with "
                    f"{rows.aligned.load_kg:g} kg their forces differ by {apart[at]:.0f} N at {np.degrees(angle):.0f}°",
                    remedy="profile each by itself and compare them with `feltload compare`; leave out helped sets",
                )
        curves.append((rows, curve))


def require_one_clock(solved: Solved, lags: Sequence[Lag]) -> None:
    """Refuse a recording whose two clocks run apart: no one lag holds, and the band knows nothing of it.

    Raises
    ------
    ProfileError
        Says the lag early and late in the recording.
    """
    for rows, lag in zip(solved.sessions, lags, strict=True):
        course = lag_course(rows, solved.layout, lag.value_s)
        if course is not None:
            raise ProfileError(
                "the clocks of the two sensors run apart or jumped: the force comes "
                f"{1e3 * course.early_s:.0f} ms after the motion in the first third and {1e3 * course.late_s:.0f} ms "
                "in the last",
                where=rows.aligned.name,
                remedy="record both with one device, or give the time at which one computer received them "
                "(host_time_s) in both files",
            )


@dataclass(frozen=True)
class _Half:
    """What the fit leaves of one half-repetition in each stretch, (STRETCHES,), NaN where it did not go."""

    rows: Rows
    left_n: Floats


def _halves(solved: Solved) -> dict[tuple[float, bool], list[_Half]]:
    """Half-repetitions by load and whether they are raising."""
    groups: dict[tuple[float, bool], list[_Half]] = {}
    q = np.concatenate([rows.q_rad for rows in solved.sessions])
    edges = np.linspace(float(np.min(q)), float(np.max(q)), STRETCHES + 1)
    for rows, residual in zip(solved.sessions, solved.fit.residuals_n, strict=True):
        stretch = np.clip(np.digitize(rows.q_rad, edges) - 1, 0, STRETCHES - 1)
        for number in np.unique(rows.run):
            own = rows.run == number
            count = np.bincount(stretch[own], minlength=STRETCHES)
            total = np.bincount(stretch[own], weights=residual[own], minlength=STRETCHES)
            left = np.where(count > 0, total / np.maximum(count, 1), np.nan)
            key = (rows.aligned.load_kg, rows.runs[number].direction > 0)
            groups.setdefault(key, []).append(_Half(rows, left))
    return groups


def _over_enough(off: Flags) -> Flags:
    """Whether something is off over enough of the travel; stretches along the last axis."""
    return np.asarray(np.count_nonzero(off, axis=-1) >= APART_OVER * STRETCHES)
