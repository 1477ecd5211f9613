"""One CSV file of a user's own logger: read by the decoder, checked, and its first fault named by line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import islice
from pathlib import Path
from typing import Literal

import numpy as np

from feltload.acquisition.tables.csv_columns import KNOWN_COLUMNS, csv_fields, require_units
from feltload.acquisition.tables.csv_layout import (
    COMMENT,
    CsvLayout,
    CsvRow,
    cells_of,
    decode_text,
    find_layout,
    is_number,
)
from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.descriptions.fields import AXES, FieldDescription
from feltload.acquisition.wire.descriptions.link_config import FileLinkConfig
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing import split_at
from feltload.acquisition.wire.samples import WireSamples
from feltload.acquisition.wire.text import NEWLINE, count_delimiters, read_lines
from feltload.core import Floats, InputError

__all__ = ["CsvTable", "read_csv_table"]

FASTEST_RAD_S = 40.0
"""Rate that moving parts of training machines, and most gyroscopes, stay far below (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class CsvTable:
    """A checked CSV file and how to decode it.

    Parameters
    ----------
    path : Path
    data : bytes
        The file as it is.
    description : StreamDescription
        With timing not yet settled.
    time_s : float array, shape (n,)
    host_time_s : float array, shape (n,), or None
    """

    path: Path
    data: bytes
    description: StreamDescription
    time_s: Floats
    host_time_s: Floats | None


def read_csv_table(
    path: str | Path,
    kind: Literal["force", "inertial"],
    *,
    columns: Mapping[str, str] | None = None,
    rated_capacity_n: float | None = None,
) -> CsvTable:
    """Read and check one CSV file.

    Parameters
    ----------
    path : path
    kind : {"force", "inertial"}
    columns : mapping, optional
        Our name of a column to the file's own.
    rated_capacity_n : float, optional

    Raises
    ------
    InputError
        Names the file, the line, the column and the remedy.
    """
    path = Path(path)
    data = _bytes(path)
    text = decode_text(data, path)
    back = {column: name for name, column in (columns or {}).items()}
    layout = find_layout(text, path, back, KNOWN_COLUMNS)
    theirs = layout.names
    every = csv_fields([back.get(name, name) for name in theirs], theirs, kind, path)
    if layout.units is not None:
        require_units(layout.units, every, theirs, path, layout.first_line - 1)
    longest = _longest_row(data, layout)
    used = max(index for index, item in enumerate(every) if item.type == "number") + 1
    description = StreamDescription(
        name=kind,
        kind=kind,
        link=FileLinkConfig(name=path.name),
        framing="lines",
        fields=every[:used],
        delimiter=layout.delimiter,
        decimal=layout.decimal,
        quoted=layout.quoted,
        comment=COMMENT,
        more_columns=used < max(len(theirs), longest),
        header_lines=layout.header_lines,
        rated_capacity_n=rated_capacity_n if kind == "force" else None,
        timing="common",
    )
    names = {item.name: name for item, name in zip(description.fields, theirs, strict=False)}
    # One message that holds the whole file: when its lines arrived is settled with the other file.
    wire = read_lines(Arrivals.from_pairs([(0, data)]), description)
    if wire.bad_frames or (longest > len(theirs) and _says_more(text, layout)):
        raise _first_fault(text, layout, description.fields, path, wire)
    if kind == "inertial":
        _require_units(wire.columns, description.fields, path)
    for name in ("device_time", "host_time"):
        if name in wire.columns:
            _require_forwards(wire.columns[name], names[name], text, layout, path)
    time_s = wire.columns["device_time"]
    period = float(np.median(np.diff(time_s))) if time_s.size > 1 else 0.0
    described = description.model_copy(update={"rate_hz": 1.0 / period if period > 0 else None})
    return CsvTable(path, data, described, time_s, wire.columns.get("host_time"))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError("no such file", where=str(path), remedy="check the path") from None
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror or error})", where=str(path)) from None


def _longest_row(data: bytes, layout: CsvLayout) -> int:
    """Most cells of a line, empty ones at its end counted."""
    flow = Arrivals.from_pairs([(0, data if data.endswith(b"\n") else data + b"\n")])
    pieces = split_at(flow, NEWLINE)
    delimiters, _ = count_delimiters(flow.data, pieces, layout.delimiter, quoted=layout.quoted)
    return int(delimiters[layout.header_lines :].max(initial=-1)) + 1


def _says_more(text: str, layout: CsvLayout) -> bool:
    """Whether some row says something beyond the header's last column."""
    columns, mark = len(layout.names), layout.delimiter
    for line in islice(StringIO(text), layout.first_line - 1, None):
        # Few rows have as many delimiters once those at the end are gone: only they are cut into cells.
        if line.startswith(COMMENT):
            continue
        if line.rstrip(f'"\r\n \t{mark}').count(mark) >= columns and any(cells_of(line, mark)[columns:]):
            return True
    return False


def _first_fault(
    text: str, layout: CsvLayout, fields: Sequence[FieldDescription], path: Path, wire: WireSamples
) -> InputError:
    """The first row that cannot be read, and why."""
    for row in layout.rows(text):
        fault = _fault_of(row, layout, fields, path)
        if fault is not None:
            return fault
    return InputError(
        f"{wire.bad_frames} of {wire.bad_frames + wire.message.size} rows cannot be read as plain numbers",
        where=str(path),
        remedy="write plain numbers, without spaces within or thousands marks",
    )


def _fault_of(
    row: CsvRow, layout: CsvLayout, fields: Sequence[FieldDescription], path: Path
) -> InputError | None:
    line, cells = f"{path}: line {row.line}", row.cells
    if not row.closed:
        return InputError("a quote is not closed", where=line, remedy="close it or leave that row out")
    if tuple(cells) == layout.names:
        return InputError(
            "the header is there again", where=line, remedy="cut the file where the logger began again"
        )
    if any(cells[len(layout.names) :]):
        return InputError(
            f"{len(cells)} columns where the header has {len(layout.names)}",
            where=line,
            remedy="give every row as many columns as the header, with semicolons between them if decimal marks "
            "are commas",
        )
    for index, item in enumerate(fields):
        if item.type != "number":
            continue
        where = f"{line}, column {layout.names[index]}"
        if index >= len(cells):
            return InputError(
                "the row ends before it", where=where, remedy="complete it or leave that row out"
            )
        if not cells[index]:
            return InputError("is empty", where=where, remedy="correct it or leave that row out")
        if not is_number(cells[index]):
            return InputError(
                f'"{cells[index]}" is not a number', where=where, remedy=_number_remedy(cells[index], item)
            )
        if ("." if layout.decimal == "," else ",") in cells[index]:
            marks = ("comma", "point") if layout.decimal == "." else ("point", "comma")
            return InputError(
                f'"{cells[index]}" has a {marks[0]}, while times are written with a decimal {marks[1]}',
                where=where,
                remedy=f"write all numbers with a decimal {marks[1]} and without thousands marks",
            )
    return None


def _number_remedy(cell: str, item: FieldDescription) -> str:
    if item.quantity == "time" and (":" in cell or "-" in cell[1:]):
        return "give times in seconds, counted from anywhere"
    digits = "".join(cell.split()).replace("'", "")
    if digits != cell and is_number(digits):
        return "write numbers without thousands marks"
    if "," in cell and "." in cell:
        return "write numbers with one decimal mark and without thousands marks"
    return "correct it or leave that row out"


def _require_forwards(values: Floats, column: str, text: str, layout: CsvLayout, path: Path) -> None:
    back = np.flatnonzero(np.diff(values) < 0)
    if not back.size:
        return
    row = int(back[0]) + 1
    number = next(islice(layout.rows(text), row, None)).line
    raise InputError(
        f"time runs backwards ({values[row - 1]:.6g} then {values[row]:.6g})",
        where=f"{path}: line {number}, column {column}",
        remedy="sort the rows or cut the file where the logger began again",
    )


def _require_units(table: Mapping[str, Floats], fields: Sequence[FieldDescription], path: Path) -> None:
    """Gravity and a person's speed tell a mistaken unit."""
    first = {item.name: item for item in fields if item.name in (AXES["gyro"][0], AXES["accel"][0])}
    gyro, accel = (
        np.stack([table[item.column] for item in fields if item.name in AXES[kind]], axis=1)
        for kind in ("gyro", "accel")
    )
    unit = first[AXES["accel"][0]].unit
    felt = float(np.median(np.linalg.norm(accel, axis=1))) / first[AXES["accel"][0]].si_factor
    low, high, other = (0.8, 1.25, "accel_x_g ...") if unit == "m/s2" else (8.0, 12.0, "accel_x_m_s2 ...")
    if low < felt < high:
        raise InputError(
            f"the accelerometer reads {felt:.2f} {unit} at rest, so the numbers are in the other unit",
            where=str(path),
            remedy=f"name the columns {other}",
        )
    turned = float(np.percentile(np.linalg.norm(gyro, axis=1), 99.0))
    if first[AXES["gyro"][0]].unit == "rad/s" and turned > FASTEST_RAD_S:
        raise InputError(
            f"the gyroscope reads {turned:.0f} rad/s, so the numbers seem to be degrees per second",
            where=str(path),
            remedy="name the columns gyro_x_deg_s ...",
        )
