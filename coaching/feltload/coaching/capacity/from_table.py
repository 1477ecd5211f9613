"""A capacity curve, or any force by angle, from a table of one's own."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np

from feltload.coaching.capacity.curve import STRONGEST_N, CapacityCurve, CapacitySource
from feltload.coaching.errors import CapacityError
from feltload.core import read_text

FEWEST_ROWS = 3
DEFAULT_U = 0.05
"""Relative standard uncertainty where the table gives none (common practice, no source)."""


def capacity_from_table(path: Path) -> CapacityCurve:
    """Read a capacity curve from a CSV: ``angle_deg, force_n`` and optionally ``u_n``.

    Raises
    ------
    CapacityError
        Naming file, row and column of what cannot be read.
    """
    where = str(path)
    text = read_text(path, CapacityError, remedy="give a CSV with columns angle_deg, force_n, u_n")
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""))
        names, rows = reader.fieldnames or (), list(reader)
    except csv.Error as error:
        raise CapacityError(f"is no table ({error})", where=where, remedy="save it as CSV") from None
    for name in ("angle_deg", "force_n"):
        if name not in names:
            raise CapacityError(
                f"column {name} is missing", where=where, remedy="head it angle_deg,force_n,u_n"
            )
    values = []
    for number, row in enumerate(rows, start=2):
        try:
            force = float(row["force_n"])
            u = float(row.get("u_n") or DEFAULT_U * force)
            values.append((np.deg2rad(float(row["angle_deg"])), force, u))
            if not np.all(np.isfinite(values[-1])):
                raise ValueError
        except (TypeError, ValueError):
            raise CapacityError(
                f"row {number} holds something that is not a number", where=where, remedy="use plain decimals"
            ) from None
        if force <= 0.0:
            raise CapacityError(
                f"row {number} holds a force of zero or below",
                where=where,
                remedy="capacity is a positive handle force",
            )
        if force > STRONGEST_N or not 0.0 < u <= STRONGEST_N:
            raise CapacityError(
                f"row {number} holds a force or an uncertainty that no person has",
                where=where,
                remedy="give forces in N, and a standard uncertainty above 0",
            )
    if len(values) < FEWEST_ROWS:
        raise CapacityError(
            "fewer than three rows", where=where, remedy="give the curve at three angles or more"
        )
    angle, force_at, u_at = np.array(sorted(values)).T
    if np.any(np.diff(angle) <= 0):
        raise CapacityError("duplicate angle", where=where, remedy="give each angle once")
    if np.ptp(angle) > 2.0 * np.pi:
        raise CapacityError(
            "the angles run through more than a turn", where=where, remedy="give angles in degrees"
        )
    return CapacityCurve(angle, force_at, np.diag(u_at**2), CapacitySource.TABLE)
