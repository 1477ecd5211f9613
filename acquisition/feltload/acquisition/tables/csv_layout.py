"""How a logger or a spreadsheet wrote a CSV file: where its header is, what stands between and in the cells."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path
from typing import Literal, NamedTuple

from feltload.core import InputError

__all__ = [
    "COMMENT",
    "MAP_REMEDY",
    "CsvLayout",
    "CsvRow",
    "cells_of",
    "decode_text",
    "find_layout",
    "is_number",
]

MAP_REMEDY = "map it with --columns, such as --columns time_s=Time"
COMMENT = "#"
"""What a line that is passed over begins with."""
HEADER_WITHIN = 50
"""Lines, empty ones not counted, among which the header must be."""
_DELIMITERS = ",;\t"
_SEPARATOR_LINE = re.compile(r'^"?sep=([^\w\s"#.+-]|\t)"?\r?$')
_POWER = re.compile(r"s\^?-?[12]")
_NO_VALUES = {"nan", "n/a", "na", "null", "none", "inf", "-inf", "-", "--", "#n/a"}
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")


class CsvRow(NamedTuple):
    """A line of samples: its number, its cells, and whether its quotes are closed."""

    line: int
    cells: list[str]
    closed: bool


@dataclass(frozen=True)
class CsvLayout:
    """How a file is written.

    Parameters
    ----------
    delimiter : str
        Comma, semicolon or tab.
    decimal : {".", ","}
        Decimal mark; a comma beside a comma as delimiter means that numbers are quoted.
    quoted : bool
        Some cells are in double quotes.
    names : tuple of str
        The file's own names of its columns, without those left empty at the end.
    units : tuple of str, or None
        Cells of a row of units below the header.
    first_line : int
        Number of the first line after header and units, counted from 1.
    header_lines : int
        Lines before that one, empty ones not counted.
    """

    delimiter: str
    decimal: Literal[".", ","]
    quoted: bool
    names: tuple[str, ...]
    units: tuple[str, ...] | None
    first_line: int
    header_lines: int

    def rows(self, text: str) -> Iterator[CsvRow]:
        """Every row of samples; empty rows and comments are passed over."""
        for number, line in enumerate(StringIO(text), start=1):
            if number >= self.first_line and not _is_passed_over(line, self.delimiter):
                yield CsvRow(number, cells_of(line, self.delimiter), line.count('"') % 2 == 0)


def decode_text(data: bytes, path: Path) -> str:
    """Text of a file in UTF-8, or in the Western code page that spreadsheets still write.

    Raises
    ------
    InputError
        If it is not such a text, or its lines end in carriage returns only.
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError("is written in UTF-16", where=str(path), remedy="save it as CSV in UTF-8")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Only names of columns and texts beside the numbers can differ: digits are the same in both.
        text = data.decode("cp1252", errors="replace")
    if re.search("[\x00-\x08\ufffd]", text):
        raise InputError("not a text file", where=str(path), remedy="save it as CSV in UTF-8")
    if "\n" not in text and "\r" in text.strip():
        raise InputError(
            "its lines end in carriage returns only",
            where=str(path),
            remedy="save it with the line ends of Windows or Unix",
        )
    return text


def cells_of(line: str, delimiter: str) -> list[str]:
    """Cells of a line, without quotes and blanks around them."""
    # A carriage return within is no line's end here; a blank may stand before a quote, as many programs write.
    bare = line.rstrip("\r\n").replace("\r", " ")
    try:
        cells = next(csv.reader([bare], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        # A line without end, as of a file that is no table.
        return [bare]
    return [cell.strip() for cell in cells]


def is_number(cell: str) -> bool:
    """Whether a cell is one number, with either decimal mark and without thousands marks."""
    return _NUMBER.fullmatch(cell) is not None


def _is_passed_over(line: str, delimiter: str) -> bool:
    return line.startswith(COMMENT) or not line.strip(f'"\r\n \t{delimiter}')


def find_layout(text: str, path: Path, columns: Mapping[str, str], known: frozenset[str]) -> CsvLayout:
    """Find out how a file is written.

    Parameters
    ----------
    text : str
    path : Path
        For messages.
    columns : mapping
        The file's own names of columns to ours.
    known : frozenset of str
        Our names of columns that mean something.

    Raises
    ------
    InputError
        No column of times, a column twice, or no row.
    """
    number, header_lines, names, delimiter = _header(text, path, columns)
    while names and not names[-1]:
        names.pop()
    ours = [columns.get(name, name) for name in names]
    repeated = sorted({name for name in names if name and names.count(name) > 1})
    if repeated:
        raise InputError(f"duplicate column {repeated[0]}", where=str(path), remedy="rename one")
    quoted = '"' in text
    used = [index for index, name in enumerate(ours) if name in known]
    layout = CsvLayout(delimiter, ".", quoted, tuple(names), None, number + 1, header_lines)
    first = next(layout.rows(text), None)
    if first is not None and _are_units(first.cells, used):
        between = text.split("\n", first.line)[number : first.line]
        header_lines += sum(1 for line in between if line)
        layout = replace(
            layout, units=tuple(first.cells), first_line=first.line + 1, header_lines=header_lines
        )
        first = next(layout.rows(text), None)
    if first is None:
        raise InputError("has no rows", where=str(path), remedy="give a file with a header line and samples")
    return replace(layout, decimal=_decimal(layout, text, ours.index("time_s")))


def _header(text: str, path: Path, columns: Mapping[str, str]) -> tuple[int, int, list[str], str]:
    """Line number of the header, lines up to it that are not empty, its cells and their delimiter."""
    seen = 0
    stated: str | None = None
    first: list[str] | None = None
    for number, line in enumerate(StringIO(text), start=1):
        # Counted as the decoder cuts lines: a carriage return alone is one.
        seen += line != "\n"
        if not line.strip():
            continue
        separator = _SEPARATOR_LINE.match(line.rstrip("\n"))
        if separator is not None and seen == 1:
            stated = separator.group(1)
            continue
        bare = line.removeprefix(COMMENT)
        delimiter = stated or _likely_delimiter(bare)
        names = cells_of(bare, delimiter)
        if "time_s" in [columns.get(name, name) for name in names]:
            return number, seen, names, delimiter
        if first is None and not line.startswith(COMMENT):
            first = names
        if seen >= HEADER_WITHIN:
            break
    if first is None:
        raise InputError("has no rows", where=str(path), remedy="give a file with a header line and samples")
    raise InputError(f"no column time_s; it has {', '.join(first)}", where=str(path), remedy=MAP_REMEDY)


def _likely_delimiter(line: str) -> str:
    """The delimiter that makes most cells of a header."""
    return max(_DELIMITERS, key=lambda mark: len(cells_of(line, mark)))


def _are_units(cells: list[str], used: list[int]) -> bool:
    """Whether a first row has words where numbers are expected."""
    values = [cells[index].casefold() for index in used if index < len(cells)]
    return len(values) == len(used) and all(
        value and value not in _NO_VALUES and not re.search("[0-9]", _POWER.sub("", value))
        for value in values
    )


def _decimal(layout: CsvLayout, text: str, time_index: int) -> Literal[".", ","]:
    """Decimal mark, by the times: at more than one sample a second they have fractions."""
    for row in layout.rows(text):
        cell = row.cells[time_index] if time_index < len(row.cells) else ""
        if "," in cell and "." not in cell:
            return ","
        if "." in cell:
            return "."
    return "."
