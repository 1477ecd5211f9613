"""Targets from a table of one's own, and in proportion to a strength."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Final

import numpy as np

from feltload.calibration.errors import TargetError
from feltload.calibration.target.target import Target, TargetAxis, TargetScale, within_limit
from feltload.core import Floats, read_text, si_per_unit

POSITIONS: Final = {
    "travel_percent": (TargetAxis.TRAVEL, 0.01),
    "handle_travel_mm": (TargetAxis.HANDLE, 0.001),
    "angle_deg": (TargetAxis.ANGLE, float(np.radians(1.0))),
}
"""Column of positions -> axis, and SI of one unit."""
UNITS: Final = ("n", "kgf", "lbf")
_REMEDY: Final = "head it travel_percent,force_n,tolerance_n"
_LARGEST: Final = 1e6


def target_from_table(path: Path) -> Target:
    """Read a target from a CSV.

    Columns: positions (`travel_percent`, `handle_travel_mm` or `angle_deg`), the force wanted (`force_n`, `force_kgf`,
    `force_lbf`, or `force_percent` of any one force) and its tolerance (`tolerance_n`, `_kgf`, `_lbf`, or
    `tolerance_percent` of the force in that row); or `lowest_n` and `highest_n` (`_kgf`, `_lbf`), one of which may be
    empty in a row or left out; `load_kg`, one value, where it is for one load.

    Raises
    ------
    TargetError
        Naming file, row and column of what cannot be read.
    """
    where = str(path)
    names, rows = read_rows(path, _REMEDY)
    position = one_of(names, tuple(POSITIONS), where)
    limits = [name for name in names if name.startswith(("lowest_", "highest_"))]
    if limits:
        return _between_limits(path, names, rows, position, limits)
    force = one_of(names, (*(f"force_{unit}" for unit in UNITS), "force_percent"), where)
    tolerance = one_of(names, (*(f"tolerance_{unit}" for unit in UNITS), "tolerance_percent"), where)
    relative = force == "force_percent"
    if relative and tolerance != "tolerance_percent":
        raise TargetError(
            "its forces are in percent, its tolerance is not", where=where, remedy="give tolerance_percent"
        )
    table = np.array(
        [
            [number_in(row, name, number, where) for name in (position, force, tolerance)]
            for number, row in enumerate(rows, start=2)
        ]
    )
    table = sorted_by_position(table, where)
    axis, per_unit = POSITIONS[position]
    wanted = table[:, 1] * _newtons(force)
    half = table[:, 2] * (0.01 * np.abs(wanted) if tolerance == "tolerance_percent" else _newtons(tolerance))
    return Target(
        path.name,
        axis,
        table[:, 0] * per_unit,
        wanted,
        half,
        TargetScale.FREE if relative else TargetScale.NEWTONS,
        load_kg=_load(rows, where) if "load_kg" in names else None,
    )


def _between_limits(
    path: Path, names: tuple[str, ...], rows: list[dict[str, str]], position: str, limits: list[str]
) -> Target:
    where = str(path)
    beside = [name for name in names if name.startswith(("force_", "tolerance_"))]
    known = [f"{end}_{unit}" for end in ("lowest", "highest") for unit in UNITS]
    strange = [name for name in limits if name not in known] + beside
    if strange:
        raise TargetError(
            f"has limits and {strange[0]}" if beside else f"has {strange[0]}",
            where=where,
            remedy="head it travel_percent,lowest_n,highest_n (or _kgf, _lbf)",
        )
    ends = [
        one_of(names, tuple(name for name in known if name.startswith(end)), where)
        if any(name.startswith(end) for name in limits)
        else None
        for end in ("lowest", "highest")
    ]
    table = np.array(
        [
            [number_in(row, position, number, where), *(_limit(row, name, number, where) for name in ends)]
            for number, row in enumerate(rows, start=2)
        ]
    )
    table = sorted_by_position(table, where)
    low, high = table[:, 1], table[:, 2]
    bad = np.flatnonzero(low >= high)
    if bad.size:
        raise TargetError(
            f"at {position} {table[bad[0], 0]:g} the lowest force is not below the highest",
            where=where,
            remedy="leave room between the two limits",
        )
    lower, upper = np.isfinite(low), np.isfinite(high)
    if not np.all(lower | upper):
        raise TargetError(
            f"at {position} {table[np.argmin(lower | upper), 0]:g} there is no limit",
            where=where,
            remedy="leave the row out",
        )
    below, room_below = within_limit(high, upper=True)
    above, room_above = within_limit(low, upper=False)
    both = lower & upper
    wanted = np.where(both, 0.5 * (low + high), np.where(upper, below, above))
    tolerance = np.where(both, 0.5 * (high - low), np.where(upper, room_below, room_above))
    axis, per_unit = POSITIONS[position]
    return Target(
        path.name,
        axis,
        table[:, 0] * per_unit,
        wanted,
        tolerance,
        TargetScale.NEWTONS,
        load_kg=_load(rows, where) if "load_kg" in names else None,
        lower=lower,
        upper=upper,
    )


def _limit(row: dict[str, str], name: str | None, number: int, where: str) -> float:
    """A limit in newtons; NaN where there is none."""
    if name is None or not (row[name] or "").strip():
        return np.nan
    return number_in(row, name, number, where) * _newtons(name)


def sorted_by_position(table: Floats, where: str) -> Floats:
    """A table by its first column, which gives each position once."""
    table = table[np.argsort(table[:, 0])]
    if np.any(np.diff(table[:, 0]) <= 0.0):
        raise TargetError("gives a position twice", where=where, remedy="give each position once")
    return table


def proportional_target(text: str, axis: TargetAxis, at: Floats, force_n: Floats, within: float) -> Target:
    """A target in proportion to a strength: heavy where the person is strong.

    Parameters
    ----------
    text : str
        As it was written.
    axis : TargetAxis
    at, force_n : ndarray, shape (k,)
        Positions, ascending, and strength there.
    within : float
        Tolerance as a part of the force at each position.

    Raises
    ------
    TargetError
        It is no strength, or the tolerance is none.
    """
    if np.any(force_n <= 0.0):
        raise TargetError(
            "a strength in it is zero or below", where=text, remedy="leave such positions out of it"
        )
    if not 0.0 < within < 1.0:
        raise TargetError("its tolerance is not above 0 and below 100 %", where=text, remedy='write "5 %"')
    wanted = force_n / float(np.max(force_n))
    return Target(text, axis, at, wanted, within * wanted, TargetScale.FREE)


def read_rows(path: Path, remedy: str) -> tuple[tuple[str, ...], list[dict[str, str]]]:
    """Heads and rows of a CSV.

    Raises
    ------
    TargetError
        It is no table, or has no rows.
    """
    text = read_text(path, TargetError, remedy=f"give a CSV: {remedy}")
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""))
        names, rows = tuple(reader.fieldnames or ()), list(reader)
    except csv.Error as error:
        raise TargetError(f"is no table ({error})", where=str(path), remedy="save it as CSV") from None
    if not rows:
        raise TargetError("has no rows", where=str(path), remedy=remedy)
    return names, rows


def one_of(names: tuple[str, ...], columns: tuple[str, ...], where: str) -> str:
    """The one of these columns that a table has."""
    found = [name for name in columns if name in names]
    if not found:
        raise TargetError(f"has no column {' or '.join(columns)}", where=where, remedy=_REMEDY)
    if len(found) > 1:
        raise TargetError(f"gives both {' and '.join(found)}", where=where, remedy="keep one of the columns")
    return found[0]


def number_in(row: dict[str, str], name: str, number: int, where: str) -> float:
    """A number of a row, which is counted from 1 with the head."""
    try:
        value = float(row[name])
    except (TypeError, ValueError):
        value = np.nan
    if not np.isfinite(value) or abs(value) > _LARGEST:
        raise TargetError(
            f"row {number}, {name}: {row[name]!r} is not a number", where=where, remedy="use plain decimals"
        )
    return value


def _newtons(column: str) -> float:
    unit = column.rpartition("_")[2]
    return 0.01 if unit == "percent" else si_per_unit("N" if unit == "n" else unit, "force")


def _load(rows: list[dict[str, str]], where: str) -> float:
    loads = {number_in(row, "load_kg", number, where) for number, row in enumerate(rows, start=2)}
    if len(loads) > 1:
        raise TargetError(
            "is for several loads",
            where=where,
            remedy="give a table for each load, each with its own --target",
        )
    return loads.pop()
