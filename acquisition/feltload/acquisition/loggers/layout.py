"""How a logger or a spreadsheet laid a file out: delimiter, header of one or two rows, units, first row of samples."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition.loggers.header import (
    HeadRow,
    find_columns,
    find_header,
    head_rows,
    is_value,
    no_rows,
)
from feltload.acquisition.loggers.hints import suggested_columns
from feltload.acquisition.loggers.names import (
    UNITS,
    ColumnNames,
    Meaning,
    listed,
    meaning_of,
    our_name,
    quantity_of,
    required,
    unit_of,
)
from feltload.acquisition.loggers.text import COMMENTS, cells_of
from feltload.core import InputError

__all__ = ["Column", "CsvLayout", "find_layout"]

_NO_VALUES = {"nan", "n/a", "na", "null", "none", "inf", "-inf", "-", "--", "#n/a"}


@dataclass(frozen=True)
class Column:
    """A column that is used.

    Parameters
    ----------
    field : str
        As in `Meaning`.
    index : int
        Its place, counted from 0.
    name : str
        Its name in the file.
    unit : str, optional
        None for times whose values tell it.
    """

    field: str
    index: int
    name: str
    unit: str | None


@dataclass(frozen=True)
class CsvLayout:
    """How a file is written.

    Parameters
    ----------
    delimiter : str
        Comma, semicolon or tab.
    columns : tuple of Column
        Those that are used: times first.
    width : int
        Columns of the header, without those left empty at the end.
    heads : frozenset of bytes
        Lines of header and units, for when they come again.
    offset, first_line : int
        Where the first row of samples begins, and the number of its line, counted from 1.
    names : tuple of str
        All names, for suggestions.
    """

    delimiter: str
    columns: tuple[Column, ...]
    width: int
    heads: frozenset[bytes]
    offset: int
    first_line: int
    names: tuple[str, ...]


def find_layout(text: bytes, path: Path, part: str, mapping: ColumnNames) -> CsvLayout:
    """Find out how a file is laid out.

    Parameters
    ----------
    text : bytes
        As `read_utf8` gives it.
    path : Path
        For messages.
    part : {"force", "inertial", "gyro", "accel"}
        What the file has to hold.
    mapping : pairs of str
        Our names of columns and the file's own.

    Raises
    ------
    InputError
        A column is missing or there twice, a unit is missing or contradicts another, or there is no row.
    """
    rows = list(head_rows(text))
    header, names, last = find_header(rows, path, part, mapping)
    found = find_columns(names, part, mapping)
    heads = rows[header : last + 1] if header >= 0 else []
    samples = [row for row in rows[last + 1 :] if not row.text.startswith(COMMENTS)]
    delimiter = (heads or samples)[-1 if heads else 0].delimiter
    units: list[str] | None = None
    if heads and samples and _are_units(cells_of(samples[0].text, delimiter), found):
        units = cells_of(samples[0].text, delimiter)
        heads.append(samples.pop(0))
    if not samples and (not rows or rows[-1].number >= _lines_up_to(text, rows)):
        raise no_rows(path)
    first_line = (heads[-1].number + 1) if heads else samples[0].number
    columns = _with_units(found, units, heads[-1].number if units else 0, names, samples, path, part, mapping)
    return CsvLayout(
        delimiter,
        columns,
        len(names),
        frozenset(row.text.encode() for row in heads),
        _offset_of(text, first_line),
        first_line,
        tuple(names),
    )


def _are_units(cells: list[str], found: dict[str, list[tuple[int, Meaning]]]) -> bool:
    """Whether a first row has words where numbers are expected."""
    values = [cells[at] for places in found.values() for at, _ in places if at < len(cells) and cells[at]]
    return bool(values) and not any(is_value(value) or value.casefold() in _NO_VALUES for value in values)


def _with_units(
    found: dict[str, list[tuple[int, Meaning]]],
    units: list[str] | None,
    units_line: int,
    names: list[str],
    samples: list[HeadRow],
    path: Path,
    part: str,
    mapping: ColumnNames,
) -> tuple[Column, ...]:
    hint = None
    out = []
    numeric = [row.cells for row in samples]
    for field in ("time", "host_time", *required(part)):
        places = found.get(field, [])
        if not places:
            if field == "host_time":
                continue
            hint = suggested_columns(names, numeric, part, mapping)
            needed = "force_n (or force_kgf, force_lbf, force_counts)" if field == "force" else _usual(field)
            remedy = f"map it with {hint}"
            if part == "inertial" and "=COLUMN" in hint:
                option = "--imu" if field.startswith("gyro") else "--accel"
                remedy = f"{remedy}, or give its own file with {option}"
                if option == "--imu":
                    remedy += " and this one with --accel"
            raise InputError(f"no column {needed}; it has {listed(names)}", where=str(path), remedy=remedy)
        if len(places) > 1:
            raise _twice(field, places, names, path)
        index, meaning = places[0]
        bracketed = meaning_of(names[index])
        stated = meaning.unit or (bracketed.unit if bracketed is not None else None)
        if stated is None and "time" not in field:
            stated = _unit_in_name(names[index], field)
        written = units[index].strip() if units is not None and index < len(units) else ""
        if written:
            stated = _agreed(stated, written, field, names[index], f"{path}: line {units_line}")
        if stated is None and not field.endswith("time"):
            hint = suggested_columns(names, numeric, part, mapping)
            raise InputError(
                f"the unit of column {names[index]} is not stated",
                where=str(path),
                remedy=f"state it ({' or '.join(UNITS[quantity_of(field)])}), as the logger's manual has it, such as "
                f"{hint}",
            )
        out.append(Column(field, index, names[index], stated))
    _require_one_unit(out, path)
    return tuple(out)


def _unit_in_name(name: str, field: str) -> str | None:
    """The unit in brackets at the end of a name that was mapped."""
    found = re.search(r"[\[(]([^\[\]()]*)[\])]\s*$", name)
    return unit_of(found.group(1), field) if found else None


def _usual(field: str) -> str:
    usual = {"time": "s", "gyro": "rad/s", "accel": "m/s2"}
    return our_name(field, usual[field.split("_")[0]])


def _agreed(stated: str | None, written: str, field: str, name: str, where: str) -> str:
    unit = unit_of(written, field)
    if unit is None:
        raise InputError(
            f'has the unit "{written[:40]}", where {stated or "a unit of its quantity"} is expected',
            where=f"{where}, column {name}",
            remedy="convert the numbers, or correct the row of units",
        )
    if stated not in (None, unit):
        raise InputError(
            f"is in {unit}, where {stated} is expected",
            where=f"{where}, column {name}",
            remedy=f"name the column by its unit, such as {our_name(field, unit)}",
        )
    return unit


def _twice(field: str, places: list[tuple[int, Meaning]], names: list[str], path: Path) -> InputError:
    there = [names[index] for index, _ in places]
    if len(set(there)) == 1:
        return InputError(f"duplicate column {there[0]}", where=str(path), remedy="rename one")
    units = [meaning.unit for _, meaning in places]
    if len(set(units)) > 1 and None not in units:
        if field == "force":
            return InputError(
                f"mixed units: {' and '.join(there)}", where=str(path), remedy="keep one of them"
            )
        return InputError(
            f"mixed units: {field.split('_')[0]} in {' and '.join(str(unit) for unit in units)}",
            where=str(path),
            remedy="give all three axes in one unit, or choose the columns with --columns",
        )
    return InputError(
        f"columns {' and '.join(there)} are the same quantity",
        where=str(path),
        remedy=f"choose one with --columns, such as --columns {our_name(field, units[0])}={there[0]}",
    )


def _require_one_unit(columns: list[Column], path: Path) -> None:
    for quantity in ("gyro", "accel"):
        units = sorted({str(item.unit) for item in columns if item.field.startswith(quantity)})
        if len(units) > 1:
            raise InputError(
                f"mixed units: {quantity} in {' and '.join(units)}",
                where=str(path),
                remedy="give all three axes in one unit",
            )


def _lines_up_to(text: bytes, rows: list[HeadRow]) -> int:
    return text.rstrip().count(b"\n") + 1 if rows else 0


def _offset_of(text: bytes, line: int) -> int:
    offset = 0
    for _ in range(line - 1):
        offset = text.find(b"\n", offset) + 1
        if not offset:
            return len(text)
    return offset
