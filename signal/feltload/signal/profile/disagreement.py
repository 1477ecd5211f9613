"""What was left out because passes did not agree, in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import newtons, plain_degrees
from feltload.signal.alignment.solved import Solved

DOUBTFUL_SHARE = 0.3
"""From this share of the passes on it is said that the larger group need not be the machine alone."""

SINGLE_N = 10.0
"""A single pass that is off by less is not worth a word."""

FEWEST_ROWS = 3
"""Fewer rows of one pass are not worth a word."""


@dataclass(frozen=True)
class LeftOut:
    """Passes of one load and direction that were off over part of the travel.

    Attributes
    ----------
    load_kg : float
    raising : bool
    count, of : int
        Passes that were off somewhere, and passes in all.
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
    """Passes that did not agree with the others, by load and direction."""
    found = []
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
                found.append(
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
    return found


def disagreement_notes(solved: Solved, start_angle_rad: float) -> list[str]:
    """What was left out, and what it leaves in doubt."""
    notes = []
    for one in left_out(solved):
        if one.count == 1 and abs(one.apart_n) < SINGLE_N:
            continue
        low, high = (np.degrees(q + start_angle_rad) for q in (one.low_rad, one.high_rad))
        apart = f"{newtons(abs(one.apart_n))} N"
        way = "raising" if one.raising else "lowering"
        at_load = f" at {one.load_kg:g} kg" if solved.layout.loads_differ else ""
        note = (
            f"{way}{at_load}: {one.count} of {one.of} passes felt about {apart} "
            f"{'less' if one.apart_n < 0 else 'more'} than the others, within {plain_degrees(low)} to "
            f"{plain_degrees(high)} (a partner's hands?), and were left out there"
        )
        if one.count >= DOUBTFUL_SHARE * one.of:
            note += (
                "; the passes fall into two groups and the profile follows the larger: were those the helped or "
                f"resisted ones, the force {way} is about {apart} too {'high' if one.apart_n < 0 else 'low'} there"
            )
        notes.append(note)
    return notes
