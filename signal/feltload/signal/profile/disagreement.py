"""Half-repetitions that were left out because they did not agree with the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Fact, Figure, Severity
from feltload.signal.alignment.solved import Solved
from feltload.signal.profile.facts import ProfileFact

DOUBTFUL_SHARE = 0.3
"""From this share of the half-repetitions on, the larger group need not be the machine alone."""

SINGLE_N = 10.0
"""A single half-repetition that is off by less is not reported."""

FEWEST_ROWS = 3
"""Fewer rows of one half-repetition are not counted."""


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


def disagreement_facts(solved: Solved, start_angle_rad: float) -> list[Fact]:
    """What was left out, and what it leaves in doubt."""
    facts = []
    for group in left_out(solved):
        if group.count == 1 and abs(group.apart_n) < SINGLE_N:
            continue
        split = group.count >= DOUBTFUL_SHARE * group.of
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
                },
            )
        )
    return facts
