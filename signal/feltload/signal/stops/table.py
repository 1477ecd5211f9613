"""The table that a person writes at the machine: a row per reading.

::

    rotation_deg,reading_kgf,way
    0,21.5,raising
    0,20.1,lowering
    20,22.0,raising

A position is `angle_deg` (elevation of the handle's line), `rotation_deg` (turn from the start stop), `travel_percent`
or `handle_travel_cm`; a reading `reading_n`, `reading_kgf` or `reading_lbf`; `way` (raising or lowering, or empty) and
`load` (such as 40 kg) may be left out. Semicolons between columns and decimal commas are read as well.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feltload.core import InputError, parse_quantity, read_text, si_per_unit
from feltload.signal.movement.travel import AngleKind
from feltload.signal.session import Reference
from feltload.signal.stops.readings import PositionKind, StopReadings, rotation_of

POSITIONS: Mapping[str, tuple[PositionKind, float]] = {
    "angle_deg": (PositionKind.ELEVATION, math.radians(1.0)),
    "rotation_deg": (PositionKind.ROTATION, math.radians(1.0)),
    "travel_percent": (PositionKind.SHARE, 0.01),
    "handle_travel_cm": (PositionKind.WAY, 0.01),
    "handle_travel_mm": (PositionKind.WAY, 0.001),
}
"""Column -> kind of position and SI unit."""

READINGS: Mapping[str, str] = {
    "reading_n": "N",
    "reading_kgf": "kgf",
    "reading_kg": "kgf",
    "reading_lbf": "lbf",
    "reading_lb": "lbf",
}
"""Column -> unit of force; a scale that shows kg or lb shows a force in kgf or lbf."""

WAYS: Mapping[str, int] = {"raising": 1, "up": 1, "lowering": -1, "down": -1, "": 0}

STRONGEST_N = 20_000.0
"""No handle that people hold carries more (common practice, no source)."""

FEWEST_STOPS = 4
"""Places: a curve through fewer could have any shape between them (common practice, no source)."""

MOST_READINGS = 2000
"""More are not written by hand; the fit grows with their cube."""


@dataclass(frozen=True)
class TableOptions:
    """What the table does not say itself.

    Attributes
    ----------
    load_kg : float or None
        Load of rows without one of their own.
    position_u : float or None
        Standard uncertainty of a position, in the SI unit of its kind.
    travel_rad : float or None
        Whole travel, where positions are parts of it.
    """

    load_kg: float | None = None
    position_u: float | None = None
    travel_rad: float | None = None


def position_kind(path: Path) -> PositionKind:
    """What the table's positions are given as, from its head.

    Raises
    ------
    InputError
        There is no column of positions, or more than one.
    """
    names, _ = _rows(path)
    return POSITIONS[_only(names, POSITIONS, str(path), "position")][0]


def read_stops(path: Path, reference: Reference, options: TableOptions) -> StopReadings:
    """Read and check a table.

    Raises
    ------
    InputError
        Names the file, the row, the column and the remedy.
    """
    where = str(path)
    names, rows = _rows(path)
    position = _only(names, POSITIONS, where, "position")
    reading = _only(names, READINGS, where, "reading")
    unknown = [name for name in names if name not in (position, reading, "way", "load")]
    if unknown:
        raise InputError(
            f"column {unknown[0]} is not known",
            where=where,
            remedy=f"keep {position}, {reading}, way and load, or rename it",
        )
    kind, position_si = POSITIONS[position]
    newton = si_per_unit(READINGS[reading], "force")
    at, force, steps, ways, loads = [], [], [], [], []
    for number, cells in rows:
        row = f"{where}: row {number}"
        at.append(_number(cells[position], row, position) * position_si)
        force.append(_number(cells[reading], row, reading) * newton)
        steps.append(cells[reading])
        ways.append(_way(cells.get("way", ""), row))
        loads.append(_load(cells.get("load", ""), row, options.load_kg))
        if not abs(force[-1]) <= STRONGEST_N:
            raise InputError(
                f"reads {cells[reading]} {READINGS[reading]}, which no handle carries",
                where=f"{row}, column {reading}",
                remedy="check the number and the column's unit",
            )
    q, u_q = rotation_of(
        np.array(at), kind, reference, u=options.position_u, travel_rad=options.travel_rad, where=where
    )
    if reference.angle is not AngleKind.ROTATION and np.ptp(q) > 2.0 * np.pi:
        raise InputError(
            "the positions run through more than a turn", where=where, remedy=f"check column {position}"
        )
    _require_stops(q, np.array(loads), where)
    return StopReadings(
        row=np.array([number for number, _ in rows]),
        q_rad=q,
        u_q_rad=u_q,
        force_n=np.array(force),
        way=np.array(ways),
        load_kg=np.array(loads),
        step_n=smallest_step(steps) * newton,
        position_stated=options.position_u is not None,
    )


def smallest_step(texts: list[str]) -> float:
    """Smallest step that numbers were written with: their last decimal, or 2 or 5 of it where all are multiples."""
    decimals = max((len(text.strip().partition(".")[2]) for text in texts), default=0)
    counts = [round(abs(float(text)) * 10**decimals) for text in texts]
    several = len(set(counts)) > 3
    coarse = next((step for step in (5, 2) if several and all(count % step == 0 for count in counts)), 1)
    return coarse * 10.0**-decimals


def _rows(path: Path) -> tuple[list[str], list[tuple[int, dict[str, str]]]]:
    """Column names in lower case, and the filled rows with their numbers."""
    where = str(path)
    text = read_text(path, InputError, remedy="give a CSV such as rotation_deg,reading_kgf,way")
    head = next(
        (line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), ""
    )
    delimiter = ";" if ";" in head else "\t" if "\t" in head else ","
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as error:
        raise InputError(f"is no table ({error})", where=where, remedy="save it as CSV") from None
    filled = [(number, cells) for number, cells in enumerate(lines, start=1) if any(c.strip() for c in cells)]
    filled = [(number, cells) for number, cells in filled if not cells[0].lstrip().startswith("#")]
    if len(filled) < 2:
        raise InputError(
            "has no readings", where=where, remedy="write one row per reading under column names"
        )
    if len(filled) > MOST_READINGS:
        raise InputError(
            f"has more than {MOST_READINGS} rows, which are not read by hand",
            where=where,
            remedy="give the file of a logger with --force and --imu",
        )
    names = [cell.strip().lower() for cell in filled[0][1]]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f'duplicate column "{name}"', where=where, remedy="keep one of them")
    rows = []
    for number, cells in filled[1:]:
        if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
            raise InputError(
                f"{len(cells)} cells under {len(names)} column names",
                where=f"{where}: row {number}",
                remedy="one cell per column; with decimal commas put semicolons between columns",
            )
        padded = [cell.strip() for cell in cells] + [""] * (len(names) - len(cells))
        if delimiter != ",":
            padded = [cell.replace(",", ".") for cell in padded]
        rows.append((number, dict(zip(names, padded, strict=False))))
    return names, rows


def _only(names: list[str], known: Mapping[str, object], where: str, what: str) -> str:
    there = [name for name in names if name in known]
    if len(there) == 1:
        return there[0]
    problem = f"has no column of a {what}" if not there else f"has {' and '.join(there)} for one {what}"
    raise InputError(problem, where=where, remedy=f"name one column {' or '.join(known)}")


def _number(text: str, row: str, column: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(
            f'"{text[:40]}" is not a number' if text else "is empty",
            where=f"{row}, column {column}",
            remedy="write the number alone, or leave the row out",
        )
    return value


def _way(text: str, row: str) -> int:
    way = WAYS.get(text.lower())
    if way is None:
        raise InputError(
            f'"{text[:40]}" is no way to move', where=f"{row}, column way", remedy="write raising or lowering"
        )
    return way


def _load(text: str, row: str, otherwise: float | None) -> float:
    if text:
        return parse_quantity(text, "mass", where=f"{row}, column load").value
    if otherwise is None:
        raise InputError(
            "no load is stated",
            where=row,
            remedy='give a mass, such as --load "40 kg", or fill the column load',
        )
    return otherwise


def _require_stops(q_rad: np.ndarray, load_kg: np.ndarray, where: str) -> None:
    for load in np.unique(load_kg):
        stops = np.unique(q_rad[load_kg == load]).size
        if stops < FEWEST_STOPS:
            raise InputError(
                f"has readings at {stops} places with {load:g} kg",
                where=where,
                remedy=f"read the scale at {FEWEST_STOPS} places or more, from one end of the travel to the other",
            )
