"""Which repetitions of a set went into a painful range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.pain.marks import Span, inside_any
from feltload.core import Floats

SURELY_RAD = np.deg2rad(0.5)
"""An angle is trusted to this: nearer to the edge of a range nothing is said."""


@dataclass(frozen=True)
class PainfulWork:
    """Repetitions in which the client worked in a painful range.

    Attributes
    ----------
    numbers : tuple of int
        Of the repetitions, from 1.
    painful_rad : tuple of (low_rad, high_rad)
        The ranges that were entered.
    """

    numbers: tuple[int, ...]
    painful_rad: tuple[Span, ...]


def painful_work(
    time_s: Floats,
    angle_rad: Floats,
    repetitions: Sequence[tuple[float, float, float]],
    painful_rad: Sequence[Span],
) -> PainfulWork | None:
    """Find the repetitions that went into a painful range; None when none did.

    Parameters
    ----------
    time_s, angle_rad : ndarray, shape (n,)
        The set on one clock.
    repetitions : sequence of (start_s, turn_s, end_s)
    painful_rad : sequence of (low_rad, high_rad)
        Ranges marked painful.
    """
    entered = {
        span: inside_any(angle_rad, [(span[0] + SURELY_RAD, span[1] - SURELY_RAD)]) for span in painful_rad
    }
    numbers, ranges = set(), set()
    for number, (start_s, _, end_s) in enumerate(repetitions, start=1):
        within = (time_s >= start_s) & (time_s <= end_s)
        for span, inside in entered.items():
            if (inside & within).any():
                numbers.add(number)
                ranges.add(span)
    return PainfulWork(tuple(sorted(numbers)), tuple(sorted(ranges))) if numbers else None
