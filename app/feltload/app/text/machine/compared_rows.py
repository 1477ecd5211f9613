"""Results compared with the first, a row each: how much more or less, and whether that is established."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.app.text.numbers import MISSING, NO_BREAK, force_unit, load_text, number

if TYPE_CHECKING:
    from feltload.app.jobs.comparing.comparison import Comparison
    from feltload.coaching import CurveDifference


@dataclass(frozen=True)
class GapRow:
    """One result at one load compared with the first: force and friction, the other minus the first."""

    number: int
    name: str
    load: str
    force: str
    where: str
    friction: str
    friction_where: str


def gap_rows(comparison: Comparison) -> tuple[GapRow, ...]:
    """A row a result and load, in the order of the results."""
    return tuple(
        GapRow(
            number,
            pair.name,
            load_text(at.other_load_kg),
            _mean(at.force, percent=comparison.scaled_by is not None),
            _where(at.force, percent=comparison.scaled_by is not None),
            MISSING if at.friction is None else _mean(at.friction),
            "" if at.friction is None else _where(at.friction),
        )
        for number, pair in enumerate(comparison.pairs, start=2)
        for at in pair.loads
    )


def _mean(difference: CurveDifference, *, percent: bool = False) -> str:
    """``+3.1 ± 0.6 N`` on average; scaled by the mean there is no difference of it."""
    factor, unit = (100.0, "%") if percent else (1.0 / force_unit().newtons, str(force_unit()))
    mean, band = -factor * difference.mean, factor * difference.mean_u95
    return f"{number(mean, '+.1f')} ± {number(band, '.1f')}{NO_BREAK}{unit}"


def _where(difference: CurveDifference, *, percent: bool = False) -> str:
    """Over how much of the shared travel it differs, and by at most how much."""
    apart = difference.established
    if not apart.any():
        return (
            "differs on average, nowhere by itself" if difference.mean_established else "no difference shown"
        )
    factor, unit = (100.0, "%") if percent else (1.0 / force_unit().newtons, str(force_unit()))
    most = int(np.argmax(np.where(apart, np.abs(difference.values), -1.0)))
    part = 100.0 * float(np.mean(apart))
    size = number(-factor * float(difference.values[most]), "+.1f")
    return f"differs over {part:.0f}{NO_BREAK}% of the travel, by up to {size}{NO_BREAK}{unit}"
