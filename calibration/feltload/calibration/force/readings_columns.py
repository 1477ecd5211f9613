"""Columns of a readings file: which there may be, and their cells to arrays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from feltload.calibration.errors import ReadingsError
from feltload.core import Floats, parse_quantity, si_per_unit

ReadingUnit = Literal["counts", "mV/V"]

LOADS: Final = ("mass", "mass_kg", "mass_lb", "force", "force_n")
_COLUMNS: Final = {"series", "direction", "position_deg", "reading", "time_s", "temperature_c", *LOADS}

Rows = Sequence[tuple[int, dict[str, str]]]


def check_columns(names: list[str], where: str) -> None:
    unknown = [name for name in names if name not in _COLUMNS]
    if unknown:
        raise ReadingsError(
            f'unknown column "{unknown[0]}"', where=where, remedy=f"known: {', '.join(sorted(_COLUMNS))}"
        )
    if len(set(names)) < len(names):
        raise ReadingsError("a duplicate column", where=where, remedy="keep one of each name")
    loads = [name for name in names if name in LOADS]
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


def numbers(rows: Rows, column: str, where: str) -> Floats:
    return np.array(
        [
            _number(cells[column], column, number, where) if cells.get(column) else math.nan
            for number, cells in rows
        ]
    )


def directions(rows: Rows, where: str) -> NDArray[np.str_]:
    for number, cells in rows:
        if cells["direction"].lower() not in ("rising", "falling", "hold"):
            raise ReadingsError(
                f'"{cells["direction"]}" is no direction',
                where=f"{where}: row {number}",
                remedy="rising, falling, or hold for creep",
                rows=(number,),
            )
    return np.array([cells["direction"].lower() for _, cells in rows])


def loads_of(rows: Rows, column: str, where: str) -> tuple[Floats, Floats]:
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


def readings_of(rows: Rows, where: str) -> tuple[Floats, ReadingUnit, float]:
    values, decimals, in_mv_v = [], [], []
    for number, cells in rows:
        text = cells["reading"]
        bare = text.removesuffix("mV/V").removesuffix("mv/v").removesuffix("counts").strip()
        in_mv_v.append(text.lower().endswith("mv/v"))
        values.append(_number(bare, "reading", number, where))
        decimals.append(_decimals(bare))
    if len(set(in_mv_v)) > 1:
        number = rows[in_mv_v.index(not in_mv_v[0])][0]
        raise ReadingsError(
            "units mixed: some readings in mV/V and some without",
            where=f"{where}: row {number}",
            remedy="write every reading in one unit",
            rows=(number,),
        )
    return np.array(values), "mV/V" if in_mv_v[0] else "counts", 10.0 ** -max(decimals)


def _decimals(number: str) -> int:
    """Place of a number's last digit, counted from the decimal point: 2 of 1.25, 4 of 1.25e-2, -1 of 1.2e2."""
    digits, _, exponent = number.lower().partition("e")
    return len(digits.partition(".")[2]) - int(exponent or 0)
