"""One file of a user's own logger: its columns in SI, checked, and its first fault named by line and column."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition.loggers.cells import cell_blocks
from feltload.acquisition.loggers.columns import SampleColumns
from feltload.acquisition.loggers.layout import find_layout
from feltload.acquisition.loggers.names import UNITS, ColumnNames, quantity_of
from feltload.acquisition.loggers.plausible import require_plausible
from feltload.acquisition.loggers.text import COMMENTS, read_utf8
from feltload.acquisition.loggers.times import TimeColumn
from feltload.core import Floats, InputError

__all__ = ["CsvTable", "read_csv_table"]


@dataclass(frozen=True, eq=False)
class CsvTable:
    """A checked file.

    Parameters
    ----------
    path : Path
    data : bytes
        The file as it is.
    time : TimeColumn
    host_time : TimeColumn, optional
    values : dict of float arrays, shape (n,)
        Measured fields in SI; counts and mV/V as they are.
    units : dict of str
        Unit of each field in `values`: the SI unit, counts, or mV/V.
    cut_rows : int
        1 where the last line was cut and is left out.
    """

    path: Path
    data: bytes
    time: TimeColumn
    host_time: TimeColumn | None
    values: Mapping[str, Floats]
    units: Mapping[str, str]
    cut_rows: int = 0


def read_csv_table(path: str | Path, part: str, *, columns: ColumnNames = ()) -> CsvTable:
    """Read and check one file.

    Parameters
    ----------
    path : path
    part : {"force", "inertial", "gyro", "accel"}
        What it has to hold.
    columns : pairs of str
        Our name of a column and the file's own, or its number.

    Raises
    ------
    InputError
        Names the file, the line, the column and the remedy.
    """
    path = Path(path)
    data, text = read_utf8(path)
    layout = find_layout(text, path, part, columns)
    samples = SampleColumns(path, layout)
    for block in cell_blocks(
        text,
        layout.offset,
        layout.first_line,
        delimiter=layout.delimiter,
        used=[column.index for column in layout.columns],
        header_columns=layout.width,
        heads=layout.heads,
        comments=COMMENTS,
    ):
        samples.take(block)
    if not samples.rows:
        raise InputError("has no rows", where=str(path), remedy="give a file with a header line and samples")
    times = {
        column.field: samples.times(column)
        for column in layout.columns
        if quantity_of(column.field) == "time"
    }
    values, units = {}, {}
    for column in layout.columns:
        quantity = quantity_of(column.field)
        if quantity == "time":
            continue
        unit = column.unit or ""
        values[column.field] = samples.values(column) * UNITS[quantity][unit]
        si = next(iter(UNITS[quantity]))
        units[column.field] = unit if unit in ("counts", "mV/V") else si
    require_plausible(values, units, {column.field: column for column in layout.columns}, samples, path)
    return CsvTable(path, data, times["time"], times.get("host_time"), values, units, samples.cut_rows)
