"""Where a file's header is, in one row or two, and which columns mean something by its names."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from feltload.acquisition.loggers.hints import suggested_columns
from feltload.acquisition.loggers.names import ColumnNames, Meaning, listed, meaning_of, required
from feltload.acquisition.loggers.text import COMMENTS, cells_of, first_lines
from feltload.acquisition.loggers.times import is_clock
from feltload.core import InputError

__all__ = ["HeadRow", "find_columns", "find_header", "head_rows", "is_value", "no_rows"]

_DELIMITERS = ",;\t"
MOST_CELLS = 200
"""Of a line that is looked at to see whether it holds words or numbers."""
_SEPARATOR_LINE = re.compile(r'^"?sep=([^\w\s"#.+-]|\t)"?$')
_NUMBER = re.compile("[+-]?[\\d.,' \u2019\u00a0\u202f]{0,60}\\d[.,]?([eE][+-]?\\d{1,9})?")


@dataclass(frozen=True)
class HeadRow:
    """A line at the head of the file."""

    number: int
    text: str
    cells: list[str]
    delimiter: str


def head_rows(text: bytes) -> Iterator[HeadRow]:
    stated: str | None = None
    for place, (number, line) in enumerate(first_lines(text)):
        separator = _SEPARATOR_LINE.match(line) if place == 0 else None
        if separator is not None:
            stated = separator.group(1)
            continue
        bare = line.lstrip("#%/") if line.startswith(COMMENTS) else line
        delimiter = stated or _likely_delimiter(bare)
        yield HeadRow(number, line, cells_of(bare, delimiter), delimiter)


def _likely_delimiter(line: str) -> str:
    """The delimiter of a line: in a row of numbers a comma may be the decimal mark, else the most frequent."""
    for mark in ";\t":
        if mark in line and sum(map(is_value, cells_of(line, mark)[:MOST_CELLS])) >= 2:
            return mark
    if '"' not in line:
        return max(_DELIMITERS, key=line.count)
    return max(_DELIMITERS, key=lambda mark: len(cells_of(line, mark)))


def find_header(
    rows: list[HeadRow], path: Path, part: str, mapping: ColumnNames
) -> tuple[int, list[str], int]:
    """Where the header begins (-1 without one), the names of the columns, and its last row."""
    for place, row in enumerate(rows):
        if not _has_time(row.cells, part, mapping):
            continue
        ways = [(place, row.cells, place)]
        if _lacks_a_field(row.cells, part, mapping):
            if place and not rows[place - 1].text.startswith(COMMENTS):
                ways.append((place - 1, _two_rows(rows[place - 1].cells, row.cells), place))
            if place + 1 < len(rows) and not any(map(is_value, rows[place + 1].cells[:MOST_CELLS])):
                ways.append((place, _two_rows(row.cells, rows[place + 1].cells), place + 1))
        best = max(ways, key=lambda way: len(find_columns(_trimmed(way[1]), part, mapping)))
        return best[0], _trimmed(best[1]), best[2]
    samples = [row for row in rows if not row.text.startswith(COMMENTS)]
    if not samples:
        raise no_rows(path)
    by_number = [
        int(column) - 1 for _, column in _relevant(part, mapping) if column.isdigit() and len(column) < 10
    ]
    for place, row in enumerate(rows):
        if by_number and not row.text.startswith(COMMENTS):
            cells = row.cells
            if min(by_number) >= 0 and any(k < len(cells) and is_value(cells[k]) for k in by_number):
                before = rows[place - 1].cells if place else []
                same = len(before) == len(cells)
                names = before if same else [f"column {k + 1}" for k in range(len(cells))]
                return (place - 1 if same else -1), names, place - 1
    raise _no_time(samples, path, part, mapping)


def _no_time(samples: list[HeadRow], path: Path, part: str, mapping: ColumnNames) -> InputError:
    first = max(samples[:10], key=lambda row: sum(map(bool, row.cells[:MOST_CELLS])))
    numeric = [row.cells for row in samples if sum(map(is_value, row.cells[:MOST_CELLS])) >= 2]
    wordy = [row for row in samples if row.cells and not any(map(is_value, row.cells[:MOST_CELLS]))]
    names = wordy[-1].cells if wordy else []
    if wordy and numeric:
        # The longest row of words is the header, a row of units may stand below it.
        names = (
            next(row.cells for row in wordy if len(row.cells) >= len(numeric[0]))
            if any(len(row.cells) >= len(numeric[0]) for row in wordy)
            else names
        )
    hint = suggested_columns(names, numeric, part, mapping)
    if not names:
        said = f"has no header line; it begins with {listed(first.cells)}"
        return InputError(said, where=str(path), remedy=f"name the columns by their numbers: {hint}")
    return InputError(
        f"no column time_s; it has {listed(names)}", where=str(path), remedy=f"map it with {hint}"
    )


def _lacks_a_field(names: list[str], part: str, mapping: ColumnNames) -> bool:
    return not {"time", *required(part)} <= set(find_columns(names, part, mapping))


def _relevant(part: str, mapping: ColumnNames) -> list[tuple[Meaning, str]]:
    """Pairs of the mapping that concern a file of this part."""
    fields = {"time", "host_time", *required(part)}
    pairs = [(meaning_of(ours), column) for ours, column in mapping]
    return [(meaning, column) for meaning, column in pairs if meaning is not None and meaning.field in fields]


def _has_time(cells: list[str], part: str, mapping: ColumnNames) -> bool:
    if any((meaning := meaning_of(cell)) is not None and meaning.field == "time" for cell in cells):
        return True
    mapped = {column for meaning, column in _relevant(part, mapping) if meaning.field == "time"}
    return any(cell in mapped and not cell.isdigit() for cell in cells)


def _two_rows(upper: list[str], lower: list[str]) -> list[str]:
    """Names of columns in two rows; a name above stands for the empty cells that follow it."""
    out, above = [], ""
    for k in range(max(len(upper), len(lower))):
        own = upper[k] if k < len(upper) else ""
        below = lower[k] if k < len(lower) else ""
        above = own or above
        out.append(f"{above} {below}".strip() if below else own)
    return out


def _trimmed(names: list[str]) -> list[str]:
    names = list(names)
    while names and not names[-1]:
        names.pop()
    return names


def find_columns(names: list[str], part: str, mapping: ColumnNames) -> dict[str, list[tuple[int, Meaning]]]:
    """Columns of each field that is found: their places, and what they mean."""
    out: dict[str, list[tuple[int, Meaning]]] = {}
    places: dict[str, list[int]] = {}
    wanted = {column for _, column in mapping if not column.isdigit()}
    for index, name in enumerate(names):
        if name in wanted:
            places.setdefault(name, []).append(index)
    for meaning, column in _relevant(part, mapping):
        at = places.get(column, [])
        if column.isdigit() and len(column) < 10 and 0 < int(column) <= len(names):
            at = [int(column) - 1]
        if at:
            out.setdefault(meaning.field, []).extend((index, meaning) for index in at)
    mapped = set(out)
    fields = {"time", "host_time", *required(part)}
    for index, name in enumerate(names):
        named = meaning_of(name)
        if named is not None and named.field in fields - mapped:
            out.setdefault(named.field, []).append((index, named))
    return out


def is_value(cell: str) -> bool:
    return bool(_NUMBER.fullmatch(cell)) or is_clock(cell.encode())


def no_rows(path: Path) -> InputError:
    return InputError("has no rows", where=str(path), remedy="give a file with a header line and samples")
