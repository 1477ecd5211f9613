"""What makes readings of a load cell unusable: overload, gross errors, too little shown."""

from __future__ import annotations

from typing import Final

import numpy as np

from feltload.calibration.errors import OverloadError, ReadingsError
from feltload.calibration.force.fit import find_blunders
from feltload.calibration.force.readings import Readings
from feltload.calibration.force.setup import ForceSetup
from feltload.core import Flags, Floats

FEWEST_LOADS: Final = 5


def check_capacity(readings: Readings, force: Floats, setup: ForceSetup) -> None:
    if setup.rated_capacity_n is not None and force.max() > setup.rated_capacity_n:
        i = int(np.argmax(force))
        raise OverloadError(
            f"row {readings.row[i]} hangs {force[i]:.0f} N on a cell rated {setup.rated_capacity_n:.0f} N",
            where=readings.where,
            remedy="stay within the rated capacity of cell, shackles and straps with their safety "
            "factor, keep clear of hung weights, and have an overloaded cell checked before it is used again",
            rows=(int(readings.row[i]),),
        )


def check_blunders(readings: Readings, force: Floats, used: Flags) -> None:
    at = np.flatnonzero(used)
    blunders = find_blunders(force[at], readings.reading[at])
    if not blunders:
        return
    first = at[blunders[0].index]
    rows = tuple(int(readings.row[at[blunder.index]]) for blunder in blunders)
    others = ("row " if len(rows) == 2 else "rows ") + ", ".join(map(str, rows[1:]))
    more = f" (and {len(rows) - 1} more: {others})" if len(rows) > 1 else ""
    raise ReadingsError(
        f"reading {readings.reading[first]:g} stands far off the others: {blunders[0].why}{more}",
        where=f"{readings.where}: row {rows[0]}",
        remedy="correct it, or exclude the row by its number",
        rows=rows,
    )


def check_coverage(readings: Readings, force: Floats, loaded: Flags, allow_one_direction: bool) -> None:
    loads = len(np.unique(np.round(force[loaded] / max(force.max(), 1e-300), 5)))
    if loads < FEWEST_LOADS:
        raise ReadingsError(
            f"too few points: {loads} different loads above zero",
            where=readings.where,
            remedy=f"hang {FEWEST_LOADS} loads or more between a fifth of the range and its top",
        )
    directions = set(readings.direction[loaded])
    if len(directions) < 2 and not allow_one_direction:
        raise ReadingsError(
            f"one direction only: all readings are {directions.pop()}",
            where=readings.where,
            remedy="take the weights off step by step too, so that hysteresis shows, or accept one direction "
            "explicitly",
        )
