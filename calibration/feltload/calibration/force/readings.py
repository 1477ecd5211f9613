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
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.setup import ForceSetup, parse_setup
from feltload.core import Floats, Indices, parse_quantity, si_per_unit

ReadingUnit = Literal["counts", "mV/V"]

_LOADS = ("mass", "mass_kg", "mass_lb", "force", "force_n")
_COLUMNS = {"series", "direction", "position_deg", "reading", "time_s", "temperature_c", *_LOADS}


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
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise ReadingsError(
            f"cannot be read ({error.strerror})", where=str(path), remedy="check the path"
        ) from error
    except UnicodeDecodeError as error:
        raise ReadingsError("is not text", where=str(path), remedy="save it as CSV, UTF-8") from error


def parse_readings(text: str, *, where: str = "readings") -> Readings:
    """Readings from the text of a file; see the module for its form."""
    header, lines = _split(text)
    if not lines:
        raise ReadingsError("no readings", where=where, remedy="one row per reading under column names")
    names = [name.lower() for name in lines[0][1]]
    _check_columns(names, where)
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
    load_column = next(name for name in names if name in _LOADS)
    load, load_u = _loads(rows, load_column, where)
    reading, unit, resolution = _readings(rows, where)
    return Readings(
        row=np.array([number for number, _ in rows]),
        series=np.array([cells["series"] for _, cells in rows]),
        direction=_directions(rows, where),
        position_deg=_numbers(rows, "position_deg", where),
        load=load,
        load_u=load_u,
        load_is_force=load_column.startswith("force"),
        reading=reading,
        unit=unit,
        resolution=resolution,
        time_s=_numbers(rows, "time_s", where),
        temperature_c=_numbers(rows, "temperature_c", where),
        setup=parse_setup(header, where=where),
        where=where,
    )


def parse_head(text: str, *, where: str = "readings") -> tuple[ForceSetup, int]:
    """What the head of a readings file states, and how many rows of readings follow it."""
    header, lines = _split(text)
    return parse_setup(header, where=where), max(len(lines) - 1, 0)


def _split(text: str) -> tuple[dict[str, str], list[tuple[int, list[str]]]]:
    """``# key: value`` lines, and the other lines' cells with their numbers."""
    header: dict[str, str] = {}
    lines: list[tuple[int, list[str]]] = []
    for number, cells in enumerate(csv.reader(io.StringIO(text), skipinitialspace=True), start=1):
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


_Rows = Sequence[tuple[int, dict[str, str]]]


def _check_columns(names: list[str], where: str) -> None:
    unknown = [name for name in names if name not in _COLUMNS]
    if unknown:
        raise ReadingsError(
            f'unknown column "{unknown[0]}"', where=where, remedy=f"known: {', '.join(sorted(_COLUMNS))}"
        )
    if len(set(names)) < len(names):
        raise ReadingsError("a column stands twice", where=where, remedy="keep one of each name")
    loads = [name for name in names if name in _LOADS]
    if len(loads) > 1:
        raise ReadingsError(
            f"units mixed: columns {' and '.join(loads)}", where=where, remedy="keep one of them"
        )
    missing = [name for name in ("series", "direction", "reading") if name not in names]
    missing += [] if loads else ["mass"]
    if missing:
        raise ReadingsError(
            f"no column {', '.join(missing)}",
            where=where,
            remedy="name the columns series,direction,mass,reading in the first row",
        )


def _number(text: str, column: str, number: int, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ReadingsError(
            f'"{text}" is not a number',
            where=f"{where}: row {number}, {column}",
            remedy="correct it",
            rows=(number,),
        )
    return value


def _numbers(rows: _Rows, column: str, where: str) -> Floats:
    return np.array(
        [
            _number(cells[column], column, number, where) if cells.get(column) else math.nan
            for number, cells in rows
        ]
    )


def _directions(rows: _Rows, where: str) -> NDArray[np.str_]:
    for number, cells in rows:
        if cells["direction"].lower() not in ("rising", "falling", "hold"):
            raise ReadingsError(
                f'"{cells["direction"]}" is no direction',
                where=f"{where}: row {number}",
                remedy="rising, falling, or hold for creep",
                rows=(number,),
            )
    return np.array([cells["direction"].lower() for _, cells in rows])


def _loads(rows: _Rows, column: str, where: str) -> tuple[Floats, Floats]:
    """Loads and their stated uncertainties in kg or N; one unit throughout."""
    if column in ("mass_kg", "mass_lb", "force_n"):
        values = np.array([_number(cells[column], column, number, where) for number, cells in rows])
        values = values * (si_per_unit("lb", "mass") if column == "mass_lb" else 1.0)
        uncertainties = np.full(len(rows), np.nan)
    else:
        loads: list[float] = []
        spreads: list[float] = []
        units: dict[str, int] = {}
        for number, cells in rows:
            text = cells[column]
            at = f"{where}: row {number}, {column}"
            if text.strip("0.") == "" and text:
                loads.append(0.0)
                spreads.append(math.nan)
                continue
            quantity = parse_quantity(text, "mass" if column == "mass" else "force", where=at)
            loads.append(quantity.value)
            spreads.append(math.nan if quantity.u is None else quantity.u)
            units.setdefault(quantity.unit, number)
        if len(units) > 1:
            (first, first_row), (other, other_row) = list(units.items())[:2]
            raise ReadingsError(
                f"units mixed: row {first_row} in {first}, row {other_row} in {other}",
                where=where,
                remedy="write every load in one unit, so that a slip cannot hide among them",
                rows=(first_row, other_row),
            )
        values, uncertainties = np.array(loads), np.array(spreads)
    if (values < 0).any():
        number = rows[int(np.argmax(values < 0))][0]
        raise ReadingsError(
            "a load below zero",
            where=f"{where}: row {number}",
            remedy="write loads as positive",
            rows=(number,),
        )
    return values, uncertainties


def _readings(rows: _Rows, where: str) -> tuple[Floats, ReadingUnit, float]:
    values, decimals, in_mv_v = [], 0, []
    for number, cells in rows:
        text = cells["reading"]
        bare = text.removesuffix("mV/V").removesuffix("mv/v").removesuffix("counts").strip()
        in_mv_v.append(text.lower().endswith("mv/v"))
        values.append(_number(bare, "reading", number, where))
        decimals = max(decimals, len(bare.lower().partition("e")[0].partition(".")[2]))
    if len(set(in_mv_v)) > 1:
        number = rows[in_mv_v.index(not in_mv_v[0])][0]
        raise ReadingsError(
            "units mixed: some readings in mV/V and some without",
            where=f"{where}: row {number}",
            remedy="write every reading in one unit",
            rows=(number,),
        )
    return np.array(values), "mV/V" if in_mv_v[0] else "counts", 10.0**-decimals
