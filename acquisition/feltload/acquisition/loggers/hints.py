"""What ``--columns`` could be for a file whose names say too little: a proposal, never taken without the user."""

from __future__ import annotations

import re
import shlex
from collections.abc import Sequence

import numpy as np

from feltload.acquisition.loggers.names import (
    ColumnNames,
    Meaning,
    meaning_of,
    our_name,
    quantity_of,
    required,
    unit_of,
)
from feltload.acquisition.loggers.times import PER_SECOND, is_clock
from feltload.core import Floats

__all__ = ["suggested_columns"]

_TIME = re.compile(
    r"time|zeit|temps|tiempo|stamp|seconds|elapsed|clock|^t$|^t[\W_]|^(milli|micro)s", re.IGNORECASE
)
_FORCE = re.compile(
    r"force|load|weight|newton|cell|tension|kraft|last|effort|fuerza|carga|^f$|^f[\W_]", re.IGNORECASE
)
_GYRO = re.compile(r"gyr|gyro|omega|angular|rotation|drehrate|^[gw]_?[xyz]|^rot", re.IGNORECASE)
_ACCEL = re.compile(r"acc|beschl|^a_?[xyz]", re.IGNORECASE)
_NOT_GRAVITY = re.compile(r"linear|user|free|without", re.IGNORECASE)
_UNIT = re.compile(r"[\[(]([^\[\]()]+)[\])]|[_\s]([^\s_]+)$")
_UNIT_PARTS = (3, 2, 1)
"""Words at the end of a name that may be its unit, such as "deg per s"."""
_ROWS = 50
_MOST_COLUMNS = 2_000
_LONGEST_NAME = 60


def suggested_columns(
    names: Sequence[str], rows: Sequence[Sequence[str]], part: str, mapping: ColumnNames
) -> str:
    """The option in full, with the file's own names, or numbers where it has no header.

    Parameters
    ----------
    names : sequence of str
        Empty where there is no header.
    rows : sequences of str
        Cells of some rows of samples.
    part : {"force", "inertial", "gyro", "accel"}
    mapping : pairs of str
        What the user has mapped already; it stays.
    """
    names = list(names[:_MOST_COLUMNS])
    values = _values(rows[:_ROWS])
    chosen: dict[str, tuple[int, str | None]] = {}
    # What was mapped for another file stays, too.
    given = {_field(ours) for ours, column in mapping if column in names or column.isdigit()}
    fields = ["time", *required(part)]
    numbered = {} if names else _by_value(part, values)
    for field in fields:
        if field not in given:
            taken = {index for index, _ in chosen.values()}
            found = _by_name(field, names, taken) if names else numbered.get(field)
            if found is not None:
                chosen[field] = (found, _unit(field, found, names, values))
    parts = [f"{ours}={column}" for ours, column in mapping]
    for field in fields:
        if field in given:
            continue
        at, unit = chosen.get(field, (None, _USUAL[quantity_of(field)]))
        named = None if at is None or not names else meaning_of(names[at])
        if named == Meaning(field, unit) and (unit is not None or field == "time"):
            continue
        parts.append(f"{our_name(field, unit)}={_column(at, names)}")
    quoted = ['"' + part.replace('"', '""') + '"' if "," in part or '"' in part else part for part in parts]
    return f"--columns {shlex.quote(','.join(quoted))}"


_USUAL = {"time": "s", "force": "N", "gyro": "rad/s", "accel": "m/s2"}


def _column(at: int | None, names: Sequence[str]) -> str:
    """A column's own name, its number where that has none or a very long one."""
    if at is None:
        return "COLUMN"
    return names[at] if names and len(names[at]) <= _LONGEST_NAME else str(at + 1)


def _field(ours: str) -> str | None:
    meaning = meaning_of(ours)
    return None if meaning is None else meaning.field


def _by_name(field: str, names: list[str], taken: set[int]) -> int | None:
    quantity = quantity_of(field)
    for index, name in enumerate(names):
        named = meaning_of(name)
        if named is not None and named.field == field and index not in taken:
            return index
    pattern = {"time": _TIME, "force": _FORCE, "gyro": _GYRO, "accel": _ACCEL}[quantity]
    for index, name in enumerate(names):
        if index in taken or not pattern.search(name) or _NOT_GRAVITY.search(name):
            continue
        bare = re.sub(r"[\[(].*", "", name).strip()
        bare = _without_unit(bare, field)
        if quantity in ("time", "force") or re.search(
            rf"{field[-1]}$|[\W_]{field[-1]}[\W_]", bare, re.IGNORECASE
        ):
            return index
    return None


def _without_unit(name: str, field: str) -> str:
    for size in _UNIT_PARTS:
        parts = re.split(r"[_\s]+", name)
        if len(parts) > size and unit_of("_".join(parts[-size:]), field) is not None:
            return "_".join(parts[:-size])
    return name


def _values(rows: Sequence[Sequence[str]]) -> list[list[str]]:
    width = min(max(map(len, rows), default=0), _MOST_COLUMNS)
    return [[row[k] if k < len(row) else "" for row in rows] for k in range(width)]


def _numbers(cells: list[str]) -> Floats | None:
    try:
        return np.array([float(cell.replace(",", ".")) for cell in cells if cell])
    except ValueError:
        return None


def _by_value(part: str, values: list[list[str]]) -> dict[str, int]:
    """By what numbers do: times rise, and the rest follows in the usual order."""
    columns = [_numbers(cells) for cells in values]
    rising = [
        index
        for index, column in enumerate(columns)
        if (values[index] and all(is_clock(cell.encode()) for cell in values[index]))
        or (column is not None and column.size > 1 and np.all(np.diff(column) > 0))
    ]
    # A row number rises by one, and is a time only where nothing else is.
    time = next((index for index in rising if not _counts_rows(columns[index])), min(rising, default=0))
    rows = [index for index in rising if index < time]
    free = [
        index for index, column in enumerate(columns) if index not in (time, *rows) and column is not None
    ]
    fields = required(part)
    if part == "inertial" and len(free) >= 6 and _is_gravity(columns, free[:3]):
        fields = fields[3:] + fields[:3]
    return {"time": time} | dict(zip(fields, free, strict=False))


def _counts_rows(column: Floats | None) -> bool:
    return column is not None and bool(np.all(np.diff(column) == 1.0))


def _is_gravity(columns: list[Floats | None], trio: list[int]) -> bool:
    """Whether three columns have gravity's length, in either unit."""
    chosen = [column for index in trio if (column := columns[index]) is not None]
    size = min((column.size for column in chosen), default=0)
    if len(chosen) < 3 or not size:
        return False
    felt = float(np.median(np.linalg.norm([column[:size] for column in chosen], axis=0)))
    return 8.0 < felt < 12.0 or 0.8 < felt < 1.25


def _unit(field: str, index: int, names: list[str], values: list[list[str]]) -> str | None:
    """The unit that the name states; else that of the numbers where they tell one, else the usual."""
    quantity = quantity_of(field)
    if names:
        named = meaning_of(names[index])
        if named is not None and named.field == field and named.unit is not None:
            return named.unit
        parts = re.split(r"[_\s]+", names[index])
        for size in _UNIT_PARTS:
            # "deg_per_s" before "s".
            if (unit := unit_of("_".join(parts[-size:]), field)) is not None:
                return unit
        for groups in _UNIT.findall(names[index]):
            unit = next((found for text in groups if text and (found := unit_of(text, field))), None)
            if unit is not None:
                return unit
    if quantity == "time" and index < len(values):
        return _time_unit(values[index])
    if quantity == "accel" and index < len(values):
        return _accel_unit(field, index, values)
    return _USUAL[quantity]


def _accel_unit(field: str, index: int, values: list[list[str]]) -> str:
    """The unit in which three columns side by side have gravity's length."""
    first = index - "xyz".index(field[-1])
    columns = [_numbers(cells) for cells in values[max(first, 0) : first + 3]]
    chosen = [column for column in columns if column is not None and column.size]
    size = min((column.size for column in chosen), default=0)
    felt = float(np.median(np.linalg.norm([column[:size] for column in chosen], axis=0))) if size else 0.0
    return "g" if len(chosen) == 3 and 0.8 < felt < 1.25 else "m/s2"


def _time_unit(cells: list[str]) -> str | None:
    if cells and all(is_clock(cell.encode()) for cell in cells if cell):
        return None
    column = _numbers(cells)
    if column is None or column.size < 2:
        return "s"
    step = float(column[-1] - column[0]) / (column.size - 1)
    if step <= 0:
        return "s"
    # The unit in which the rate is nearest to the usual hundred a second.
    return min(PER_SECOND, key=lambda unit: abs(np.log(100.0 * step / PER_SECOND[unit])))
