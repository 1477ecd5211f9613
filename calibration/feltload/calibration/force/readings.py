"""Readings of a load cell under dead weights, as a file and as arrays.

The file is CSV with one reading per row. ``# key: value`` lines before the column names state the
circumstances (see `feltload.calibration.force.setup`)::

    # serial: C-1042
    # latitude: 52.2 deg
    # rated capacity: 2 kN
    series,direction,position_deg,mass,reading,time_s
    1,rising,0,0 kg,10012,0
    1,rising,0,10.000(0.001) kg,51970,40

``series`` names the run; ``direction`` is rising or falling, or ``hold`` for readings that follow creep
under one load; ``mass`` (or ``force``) carries its unit and, where known, its standard uncertainty;
``mass_kg``, ``mass_lb`` and ``force_n`` take plain numbers. ``reading`` is in counts, or in mV/V if it
says so. ``position_deg`` (how the cell was turned about its axis), ``time_s`` and ``temperature_c`` may
be left out.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.readings_columns import (
    LOADS,
    ReadingUnit,
    check_columns,
    directions,
    loads_of,
    numbers,
    readings_of,
)
from feltload.calibration.force.setup import ForceSetup, parse_setup
from feltload.core import Floats, Indices, read_text


@dataclass(frozen=True)
class Readings:
    """Readings as arrays, one entry per row of the file.

    Attributes
    ----------
    row : ndarray (n,) of int
        Line number in the file, for messages.
    series, direction : ndarray (n,) of str
        Run, and "rising", "falling" or "hold".
    position_deg : ndarray (n,)
        Turn of the cell about its axis; NaN where not stated.
    load : ndarray (n,)
        Hung mass in kg, or force in N where `load_is_force`.
    load_u : ndarray (n,)
        Standard uncertainty stated with the load; NaN where none is.
    load_is_force : bool
        Loads are forces.
    reading : ndarray (n,)
        In `unit`.
    unit : str
        "counts" or "mV/V".
    resolution : float
        Smallest step that the readings were written with.
    time_s, temperature_c : ndarray (n,)
        NaN where not stated.
    setup : ForceSetup
        What the head of the file states.
    where : str
        The file's name, for messages.
    """

    row: Indices
    series: NDArray[np.str_]
    direction: NDArray[np.str_]
    position_deg: Floats
    load: Floats
    load_u: Floats
    load_is_force: bool
    reading: Floats
    unit: ReadingUnit
    resolution: float
    time_s: Floats
    temperature_c: Floats
    setup: ForceSetup
    where: str

    def __len__(self) -> int:
        return len(self.row)


def read_readings(path: Path) -> Readings:
    """Read a readings file.

    Raises
    ------
    ReadingsError
        The file, the line and what to do.
    """
    return parse_readings(readings_text(path), where=path.name)


def readings_text(path: Path) -> str:
    """Text of a readings file.

    Raises
    ------
    ReadingsError
        Missing, or not text.
    """
    return read_text(path, ReadingsError)


def parse_readings(text: str, *, where: str = "readings") -> Readings:
    """Readings from the text of a file; see the module for its form."""
    header, lines = _split(text, where)
    if not lines:
        raise ReadingsError("no readings", where=where, remedy="one row per reading under column names")
    names = [name.lower() for name in lines[0][1]]
    check_columns(names, where)
    rows = []
    for number, cells in lines[1:]:
        if len(cells) != len(names):
            raise ReadingsError(
                f"{len(cells)} cells under {len(names)} column names",
                where=f"{where}: row {number}",
                remedy="one cell per column; quote a cell that holds a comma",
                rows=(number,),
            )
        rows.append((number, dict(zip(names, cells, strict=True))))
    if not rows:
        raise ReadingsError(
            "no readings under the column names", where=where, remedy="add one row per reading"
        )
    load_column = next(name for name in names if name in LOADS)
    load, load_u = loads_of(rows, load_column, where)
    reading, unit, resolution = readings_of(rows, where)
    return Readings(
        row=np.array([number for number, _ in rows]),
        series=np.array([cells["series"] for _, cells in rows]),
        direction=directions(rows, where),
        position_deg=numbers(rows, "position_deg", where),
        load=load,
        load_u=load_u,
        load_is_force=load_column.startswith("force"),
        reading=reading,
        unit=unit,
        resolution=resolution,
        time_s=numbers(rows, "time_s", where),
        temperature_c=numbers(rows, "temperature_c", where),
        setup=parse_setup(header, where=where),
        where=where,
    )


def parse_head(text: str, *, where: str = "readings") -> tuple[ForceSetup, int]:
    """What the head of a readings file states, and how many rows of readings follow it."""
    header, lines = _split(text, where)
    return parse_setup(header, where=where), max(len(lines) - 1, 0)


def _split(text: str, where: str) -> tuple[dict[str, str], list[tuple[int, list[str]]]]:
    """``# key: value`` lines, and the other lines' cells with their numbers."""
    header: dict[str, str] = {}
    lines: list[tuple[int, list[str]]] = []
    try:
        table = list(csv.reader(io.StringIO(text), skipinitialspace=True))
    except csv.Error as error:
        raise ReadingsError(f"is no table ({error})", where=where, remedy="save it as CSV") from None
    for number, cells in enumerate(table, start=1):
        cells = [cell.strip() for cell in cells]
        if not any(cells):
            continue
        if cells[0].startswith("#"):
            key, colon, value = ", ".join(cells).lstrip("# ").partition(":")
            if colon:
                header[" ".join(key.split()).lower()] = value.strip()
            continue
        lines.append((number, cells))
    return header, lines
