"""A capacity curve, or any force by position, from a table of one's own."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from feltload.coaching.capacity.curve import STRONGEST_N, CapacityCurve, CapacitySource
from feltload.coaching.errors import CapacityError
from feltload.core import Floats, read_text

FEWEST_ROWS = 3
ANGLE_DEG = "angle_deg"
DEFAULT_U = 0.05
"""Relative standard uncertainty where the table gives none (common practice, no source)."""


def capacity_from_table(path: Path) -> CapacityCurve:
    """Read a capacity curve from a CSV: ``angle_deg, force_n`` and optionally ``u_n``.

    Raises
    ------
    CapacityError
        Naming file, row and column of what cannot be read.
    """
    _, (angle_deg, force_n, u_n) = read_force_table(path, (ANGLE_DEG,))
    if np.ptp(angle_deg) > 360.0:
        raise CapacityError(
            "the angles run through more than a turn", where=str(path), remedy="give angles in degrees"
        )
    return CapacityCurve(np.deg2rad(angle_deg), force_n, np.diag(u_n**2), CapacitySource.TABLE)


def read_force_table(path: Path, columns: Sequence[str], *, slack: bool = False) -> tuple[str, Floats]:
    """Read force by position from a CSV: one of the columns, ``force_n`` and optionally ``u_n``.

    Parameters
    ----------
    path : Path
    columns : sequence of str
        Names that the column of positions may have; the first is proposed.
    slack : bool
        Whether a force may be zero.

    Returns
    -------
    str
        The column that there is.
    ndarray, shape (3, k)
        Ascending positions as they are written, forces and standard uncertainties in N.

    Raises
    ------
    CapacityError
        Naming file, row and column of what cannot be read.
    """
    where = str(path)
    heads = " or ".join(f"{name},force_n" for name in columns) + ("" if slack else ",u_n")
    text = read_text(path, CapacityError, remedy=f"give a CSV headed {heads}")
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""))
        names, rows = reader.fieldnames or (), list(reader)
    except csv.Error as error:
        raise CapacityError(f"is no table ({error})", where=where, remedy="save it as CSV") from None
    column = _column(names, columns, where, f"head it {heads}")
    values = [_row(row, number, column, where, slack) for number, row in enumerate(rows, start=2)]
    what = "angle" if column == ANGLE_DEG else "position"
    if len(values) < FEWEST_ROWS:
        raise CapacityError(
            "fewer than three rows", where=where, remedy=f"give the curve at three {what}s or more"
        )
    table = np.array(sorted(values)).T
    if np.any(np.diff(table[0]) <= 0):
        raise CapacityError(f"duplicate {what}", where=where, remedy=f"give each {what} once")
    return column, table


def _column(names: Sequence[str], columns: Sequence[str], where: str, remedy: str) -> str:
    """The one column of positions."""
    found = [name for name in columns if name in names]
    if not found or "force_n" not in names:
        missing = "force_n" if found else " or ".join(columns)
        raise CapacityError(f"column {missing} is missing", where=where, remedy=remedy)
    if len(found) > 1:
        raise CapacityError(
            f"gives positions twice, as {' and '.join(found)}", where=where, remedy="keep one of the columns"
        )
    return found[0]


def _row(
    row: dict[str, str], number: int, column: str, where: str, slack: bool
) -> tuple[float, float, float]:
    """Position, force and standard uncertainty."""
    try:
        position, force = float(row[column]), float(row["force_n"])
        u = float(row.get("u_n") or DEFAULT_U * force)
        if not np.all(np.isfinite((position, force, u))):
            raise ValueError
    except (TypeError, ValueError):
        raise CapacityError(
            f"row {number} holds something that is not a number", where=where, remedy="use plain decimals"
        ) from None
    if slack and force < 0.0:
        raise CapacityError(
            f"row {number} holds a force below zero",
            where=where,
            remedy="give what is added at the handle, 0 where it is slack",
        )
    if force <= 0.0 and not slack:
        raise CapacityError(
            f"row {number} holds a force of zero or below",
            where=where,
            remedy="capacity is a positive handle force",
        )
    if force > STRONGEST_N or not (0.0 < u <= STRONGEST_N or slack):
        raise CapacityError(
            f"row {number} holds a force or an uncertainty that no person has",
            where=where,
            remedy="give forces in N, and a standard uncertainty above 0",
        )
    return position, force, u
