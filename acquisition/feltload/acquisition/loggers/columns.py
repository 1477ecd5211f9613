"""Columns of samples, taken block by block: numbers and times out of cells, or the first fault by line and column."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feltload.acquisition.loggers.cells import CellBlock
from feltload.acquisition.loggers.layout import Column, CsvLayout
from feltload.acquisition.loggers.names import our_name
from feltload.acquisition.loggers.numbers import Decimal, decimal_mark, number_fault, numbers
from feltload.acquisition.loggers.times import (
    LARGEST_TIME,
    PER_SECOND,
    TimeColumn,
    clock_ns,
    epoch_unit,
    is_clock,
    is_epoch,
    whole_and_part,
)
from feltload.core import Floats, Indices, InputError

__all__ = ["SampleColumns"]


class SampleColumns:
    """Columns of one file as they grow.

    Parameters
    ----------
    path : Path
        For messages.
    layout : CsvLayout

    Attributes
    ----------
    cut_rows : int
        1 where the last line was cut and is left out.
    """

    def __init__(self, path: Path, layout: CsvLayout) -> None:
        self._path = path
        self._layout = layout
        self._lines: list[Indices] = []
        self._numbers: dict[str, list[Floats]] = {}
        self._whole: dict[str, list[tuple[NDArray[np.int64], Floats]]] = {}
        self._clock: dict[str, list[NDArray[np.int64]]] = {}
        self._dated: dict[str, bool] = {}
        self._decimal: Decimal = "."
        self._grouped = False
        self.cut_rows = 0

    @property
    def rows(self) -> int:
        """Rows so far."""
        return sum(lines.size for lines in self._lines)

    def take(self, block: CellBlock) -> None:
        """Add the rows of a block.

        Raises
        ------
        InputError
            The first fault, by its line and column.
        """
        if not self._lines:
            self._settle(block)
        if block.last_cut and self._last_is_no_sample(block):
            # Whatever a logger was writing when its power went, or a copy ended.
            self.cut_rows = 1
            block = _without_last(block)
        faults = [fault for number in range(len(block.columns)) if (fault := self._parse(block, number))]
        rows = np.flatnonzero(block.unclosed | (block.beyond > 0) | block.ends_before.any(axis=0))
        first = min([row for row, _ in faults] + rows[:1].tolist(), default=None)
        if first is None:
            self._lines.append(block.line)
            return
        raise self._row_fault(block, first) or next(error for row, error in faults if row == first)

    def values(self, column: Column) -> Floats:
        """Numbers of a column as the file has them, shape (n,)."""
        return np.concatenate(self._numbers[column.field])

    def line_of(self, row: int) -> int:
        """Line number of a row."""
        return int(np.concatenate(self._lines)[row])

    def times(self, column: Column) -> TimeColumn:
        """Times of a column.

        Raises
        ------
        InputError
            They run backwards, have no known unit, or are too coarse.
        """
        where = f"{self._path}: column {column.name}"
        if column.field in self._clock:
            out = TimeColumn.of_clock(
                np.concatenate(self._clock[column.field]), dated=self._dated[column.field]
            )
        else:
            values = self.values(column)
            if (largest := float(np.max(np.abs(values)))) > LARGEST_TIME:
                raise InputError(
                    f"holds {largest:.3g}, which is no time",
                    where=where,
                    remedy="correct it or leave that row out",
                )
            unit = column.unit or epoch_unit(values)
            if unit is None:
                ours = " or ".join(our_name(column.field, unit) for unit in ("s", "ms", "us"))
                raise InputError(
                    "the unit of the times is not stated",
                    where=where,
                    remedy=f"state it with --columns, as {ours}, such as "
                    f"--columns {our_name(column.field, 'ms')}={column.name}",
                )
            per_second = PER_SECOND[unit]
            if is_epoch(float(values[0]), per_second):
                parts = self._whole[column.field]
                whole = np.concatenate([part[0] for part in parts])
                out = TimeColumn.of_epoch(whole, np.concatenate([part[1] for part in parts]), per_second)
            else:
                out = TimeColumn.of_counter(values, per_second)
        self._require_forwards(out.time_s, column)
        distinct = 1 + int(np.count_nonzero(np.diff(out.time_s)))
        if column.field == "time" and out.time_s.size > 3 and 2 * distinct < out.time_s.size:
            raise InputError(
                f"{out.time_s.size} rows have only {distinct} different times",
                where=where,
                remedy="have the logger write fractions of a second",
            )
        return out

    def _last_is_no_sample(self, block: CellBlock) -> bool:
        """Whether the last row, which has no line end, cannot be read; one that is the only one is a fault."""
        if block.line.size + self.rows < 2:
            return False
        if block.unclosed[-1] or block.beyond[-1] or block.ends_before[:, -1].any():
            return True
        return any(
            isinstance(clock_ns(cells[-1:]), int)
            if column.field in self._clock
            else numbers(cells[-1:], self._decimal, grouped=self._grouped) is None
            for column, cells in zip(self._layout.columns, block.columns, strict=True)
        )

    def _settle(self, block: CellBlock) -> None:
        """Decimal mark and kind of times, by the first rows."""
        times = {
            column.field: cells
            for column, cells in zip(self._layout.columns, block.columns, strict=True)
            if column.field in ("time", "host_time")
        }
        for field, cells in times.items():
            if cells and is_clock(cells[0]):
                self._clock[field] = []
        others = [
            cells
            for column, cells in zip(self._layout.columns, block.columns, strict=True)
            if column.field not in self._clock
        ]
        plain = None if "time" in self._clock else times.get("time")
        self._decimal, self._grouped = decimal_mark(plain, others)

    def _parse(self, block: CellBlock, number: int) -> tuple[int, InputError] | None:
        """Add a column's cells; where one cannot be read, its row and what is wrong with it."""
        column, cells = self._layout.columns[number], block.columns[number]
        field = column.field
        if field in self._clock:
            read = clock_ns(cells)
            if isinstance(read, int):
                return read, self._clock_fault(block, read, column, cells[read])
            stamps, dated = read
            if cells and self._dated.setdefault(field, dated) != dated:
                return 0, self._clock_fault(block, 0, column, cells[0])
            self._clock[field].append(stamps)
            return None
        values = numbers(cells, self._decimal, grouped=self._grouped)
        if values is None:
            return self._first_number_fault(block, column, cells)
        self._numbers.setdefault(field, []).append(values)
        if field.endswith("time"):
            self._whole.setdefault(field, []).append(whole_and_part(cells, values))
        return None

    def _first_number_fault(
        self, block: CellBlock, column: Column, cells: list[bytes]
    ) -> tuple[int, InputError]:
        step = 1024
        for start in range(0, len(cells), step):
            # Most pieces are sound: only one is looked at cell by cell.
            if numbers(cells[start : start + step], self._decimal, grouped=self._grouped) is not None:
                continue
            for row, cell in enumerate(cells[start : start + step], start=start):
                fault = number_fault(cell, self._decimal, grouped=self._grouped)
                if fault is not None:
                    said, remedy = fault
                    more = cells.count(cell) - 1
                    if more and not cell[:1].isdigit():
                        said += f", as in {more} more {'row' if more == 1 else 'rows'}"
                    if column.field.endswith("time") and is_clock(cell):
                        remedy = "give all times in seconds, or all as clock times"
                    return row, InputError(said, where=self._where(block, row, column), remedy=remedy)
        raise AssertionError("a cell that cannot be read was not found again")

    def _clock_fault(self, block: CellBlock, row: int, column: Column, cell: bytes) -> InputError:
        text = cell.decode(errors="replace")
        said = f'"{text[:40]}" is no time written as in the first row' if cell else "is empty"
        return InputError(
            said,
            where=self._where(block, row, column),
            remedy="write every time in the same form, such as 2026-03-02T10:15:30.125 or 10:15:30.125",
        )

    def _row_fault(self, block: CellBlock, row: int) -> InputError | None:
        line = f"{self._path}: line {block.line[row]}"
        if block.unclosed[row]:
            return InputError("a quote is not closed", where=line, remedy="close it or leave that row out")
        if block.beyond[row]:
            return InputError(
                f"{block.beyond[row]} columns where the header has {self._layout.width}",
                where=line,
                remedy="give every row as many columns as the header, with semicolons between them if decimal "
                "marks are commas",
            )
        short = np.flatnonzero(block.ends_before[:, row])
        if not short.size:
            return None
        return InputError(
            "the row ends before it",
            where=f"{line}, column {self._layout.columns[int(short[0])].name}",
            remedy="complete it or leave that row out",
        )

    def _where(self, block: CellBlock, row: int, column: Column) -> str:
        return f"{self._path}: line {block.line[row]}, column {column.name}"

    def _require_forwards(self, time_s: Floats, column: Column) -> None:
        back = np.flatnonzero(np.diff(time_s) < 0)
        if not back.size:
            return
        row = int(back[0]) + 1
        raise InputError(
            f"time runs backwards ({time_s[row - 1]:.6g} then {time_s[row]:.6g} s)",
            where=f"{self._path}: line {self.line_of(row)}, column {column.name}",
            remedy="sort the rows or cut the file where the logger began again",
        )


def _without_last(block: CellBlock) -> CellBlock:
    return CellBlock(
        block.line[:-1],
        tuple(cells[:-1] for cells in block.columns),
        block.ends_before[:, :-1],
        block.unclosed[:-1],
        block.beyond[:-1],
        False,
    )
