"""Cells of the columns that are used, out of lines of any length, in blocks of bounded size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from feltload.core import Bytes, Flags, Indices

__all__ = ["CellBlock", "cell_blocks"]

_BLOCK_BYTES = 8 << 20
_NEWLINE, _QUOTE, _RETURN = 0x0A, 0x22, 0x0D


@dataclass(frozen=True, eq=False)
class CellBlock:
    """Rows of samples.

    Parameters
    ----------
    line : int array, shape (n,)
        Line numbers, counted from 1.
    columns : tuple of list of bytes
        Cells of each used column, without quotes and blanks around them; empty where a row ends before.
    ends_before : bool array, shape (columns, n)
        The row has no such cell.
    unclosed : bool array, shape (n,)
        A quote is not closed.
    beyond : int array, shape (n,)
        Cells of a row that says something beyond the header's last column, 0 for others.
    last_cut : bool
        The last row is the file's last line and has no line end: it may have been cut.
    """

    line: Indices
    columns: tuple[list[bytes], ...]
    ends_before: Flags
    unclosed: Flags
    beyond: Indices
    last_cut: bool


def cell_blocks(
    text: bytes,
    offset: int,
    first_line: int,
    *,
    delimiter: str,
    used: Sequence[int],
    header_columns: int,
    heads: frozenset[bytes],
    comments: Sequence[str],
) -> Iterator[CellBlock]:
    """Rows of samples from `offset` on; empty rows, comments and headers that come again are passed over.

    Parameters
    ----------
    text : bytes
        With newlines as line ends.
    offset, first_line : int
        Where the first row begins, and the number of its line.
    delimiter : str
        One character.
    used : sequence of int
        Columns to take.
    header_columns : int
    heads : frozenset of bytes
        Lines of the header, for when they come again.
    comments : sequence of str
        What a line that is passed over begins with.
    """
    line = first_line
    while offset < len(text):
        stop = text.find(b"\n", min(offset + _BLOCK_BYTES, len(text)))
        stop = len(text) if stop < 0 else stop + 1
        piece = text[offset:stop]
        cut = not piece.endswith(b"\n")
        lines = piece.count(b"\n") + cut
        block = _cut(piece + b"\n" * cut, line, delimiter, used, header_columns, heads, comments)
        if block.line.size:
            last_cut = cut and int(block.line[-1]) == line + lines - 1
            yield CellBlock(
                block.line, block.columns, block.ends_before, block.unclosed, block.beyond, last_cut
            )
        offset, line = stop, line + lines


def _cut(
    piece: bytes,
    first_line: int,
    delimiter: str,
    used: Sequence[int],
    header_columns: int,
    heads: frozenset[bytes],
    comments: Sequence[str],
) -> CellBlock:
    data = np.frombuffer(piece, dtype=np.uint8)
    ends = np.flatnonzero(data == _NEWLINE)
    starts = np.concatenate([[0], ends[:-1] + 1])
    stops = ends - ((ends > starts) & (data[np.maximum(ends - 1, 0)] == _RETURN))
    silent = np.zeros(256, dtype=bool)
    silent[list(b' \t\r\n"' + delimiter.encode())] = True
    speaking = np.flatnonzero(~silent[data])
    keep = np.searchsorted(speaking, stops) > np.searchsorted(speaking, starts)
    for comment in comments:
        keep &= ~_begins_with(data, starts, stops, comment.encode())
    for head in heads:
        keep &= ~_equals(data, starts, stops, head)
    line = np.flatnonzero(keep)
    starts, stops = starts[line], stops[line]
    marks = np.flatnonzero(data == ord(delimiter))
    unclosed = np.zeros(line.size, dtype=bool)
    quotes = np.flatnonzero(data == _QUOTE)
    if quotes.size and line.size:
        before = np.searchsorted(quotes, starts)
        unclosed = (np.searchsorted(quotes, stops) - before) % 2 == 1
        row = np.clip(np.searchsorted(starts, marks, side="right") - 1, 0, None)
        # A mark inside quotes has an odd number of them between the line's start and itself.
        marks = marks[(np.searchsorted(quotes, marks) - before[row]) % 2 == 0]
    first = np.searchsorted(marks, starts)
    count = np.searchsorted(marks, stops) - first
    beyond = np.zeros(line.size, dtype=np.int64)
    wide = np.flatnonzero(count >= header_columns)
    if wide.size:
        last = speaking[np.searchsorted(speaking, stops[wide]) - 1]
        far = wide[last > marks[first[wide] + header_columns - 1]]
        beyond[far] = count[far] + 1
    padded = np.append(marks, [len(piece)])
    columns, ends_before = [], []
    for column in used:
        ends_before.append(count < column)
        last_mark = marks.size
        begin = starts if column == 0 else padded[np.minimum(first + column - 1, last_mark)] + 1
        end = np.where(count > column, padded[np.minimum(first + column, last_mark)], stops)
        begin = np.where(count < column, stops, begin)
        columns.append(_gather(data, begin, np.where(count < column, stops, end)))
    return CellBlock(
        line + first_line, tuple(columns), np.array(ends_before, dtype=bool), unclosed, beyond, False
    )


def _gather(data: Bytes, starts: Indices, stops: Indices) -> list[bytes]:
    """Texts between two positions each."""
    if not starts.size:
        return []
    # The byte after a cell is taken along and made its newline.
    lengths = stops - starts + 1
    offsets = np.cumsum(lengths)
    index = np.arange(int(offsets[-1])) + np.repeat(starts - (offsets - lengths), lengths)
    buffer = data[index]
    buffer[offsets - 1] = _NEWLINE
    text = buffer.tobytes()
    if b'"' in text:
        text = text.replace(b'"', b"")
    cells = text[:-1].split(b"\n")
    return [cell.strip() for cell in cells] if b" " in text or b"\t" in text else cells


def _begins_with(data: Bytes, starts: Indices, stops: Indices, word: bytes) -> Flags:
    out: Flags = np.asarray(stops - starts >= len(word))
    for position, byte in enumerate(word):
        out[out] &= data[starts[out] + position] == byte
    return out


def _equals(data: Bytes, starts: Indices, stops: Indices, line: bytes) -> Flags:
    out: Flags = np.asarray(stops - starts == len(line))
    # Few lines are as long as the header, and begin like it, without being it.
    for position, byte in enumerate(line):
        if not out.any():
            break
        out[out] &= data[starts[out] + position] == byte
    return out
