"""Numbers as loggers and spreadsheets write them: either decimal mark, marks between thousands where they are plain."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

import numpy as np

from feltload.core import Floats

__all__ = ["Decimal", "decimal_mark", "number_fault", "numbers"]

Decimal = Literal[".", ","]

LONGEST_CELL = 64
_PLAIN = b"0123456789+-.eE"
_NUMBER = re.compile(rb"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_SPACED = re.compile("[+-]?\\d{1,3}(?:([ '\u2019\u00a0\u202f])\\d{3})(?:\\1\\d{3})*(?:[.,]\\d*)?")
_BOTH = re.compile(rb"[+-]?\d{1,3}(?:,\d{3})+\.\d*|[+-]?\d{1,3}(?:\.\d{3})+,\d*")
_GROUPED = {
    ".": re.compile(rb"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d*)?"),
    ",": re.compile(rb"[+-]?\d{1,3}(?:\.\d{3})+(?:,\d*)?"),
}


def decimal_mark(times: Sequence[bytes] | None, values: Sequence[Sequence[bytes]]) -> tuple[Decimal, bool]:
    """Decimal mark of a file, and whether the other mark stands between thousands.

    Parameters
    ----------
    times : sequence of bytes, or None
        Cells of the times, which tell it: at more than one sample a second they have fractions. None for clock times.
    values : sequences of bytes
        Cells of the other columns.

    Notes
    -----
    A mark between thousands is known only where some number of the file has both marks: "1,234" alone may be either.
    """
    grouped = {
        b"." if cell.rindex(b".") > cell.rindex(b",") else b","
        for cells in values
        if b"," in (joined := b"\n".join(cells)) and b"." in joined
        for cell in cells
        if b"," in cell and b"." in cell and _BOTH.fullmatch(cell)
    }
    for cells in ([] if times is None else [times]) + list(values):
        for cell in cells:
            if b"," in cell and b"." in cell:
                break
            if b"," in cell:
                return ",", grouped == {b","}
            if b"." in cell:
                return ".", grouped == {b"."}
    if len(grouped) == 1:
        return ("," if grouped == {b","} else "."), True
    return ".", False


def numbers(cells: Sequence[bytes], decimal: Decimal, *, grouped: bool) -> Floats | None:
    """Numbers of a column, shape (n,); None where some cell is no number.

    A value that no float holds is no number either.
    """
    if max(map(len, cells), default=0) > LONGEST_CELL or b"" in cells:
        return None
    joined = b"\n".join(cells)
    other = b"," if decimal == "." else b"."
    if joined.translate(None, _PLAIN + b",\n"):
        cells = [_without_spaces(cell) for cell in cells]
        joined = b"\n".join(cells)
    if other in joined:
        if not grouped:
            return None
        cells = [cell.replace(other, b"") if _GROUPED[decimal].fullmatch(cell) else cell for cell in cells]
        joined = b"\n".join(cells)
    if decimal == ",":
        joined = joined.replace(b",", b".")
    if joined.translate(None, _PLAIN + b"\n"):
        return None
    try:
        values = np.array(joined.split(b"\n")).astype(np.float64)
    except ValueError:
        return None
    return values if np.isfinite(values).all() else None


def _without_spaces(cell: bytes) -> bytes:
    text = cell.decode()
    return re.sub("[ '\u2019\u00a0\u202f]", "", text).encode() if _SPACED.fullmatch(text) else cell


def number_fault(cell: bytes, decimal: Decimal, *, grouped: bool) -> tuple[str, str] | None:
    """What is wrong with a cell, and what to do; None for a number."""
    if not cell:
        return "is empty", "correct it or leave that row out"
    if len(cell) > LONGEST_CELL:
        return f"has {len(cell)} characters, which is no number", "correct it or leave that row out"
    if numbers([cell], decimal, grouped=grouped) is not None:
        return None
    text = cell.decode()
    marks = ("comma", "point") if decimal == "." else ("point", "comma")
    if _NUMBER.fullmatch(cell.replace(b",", b".")) and (b"," if decimal == "." else b".") in cell:
        return (
            f'"{text}" has a {marks[0]}, while times are written with a decimal {marks[1]}',
            f"write all numbers with a decimal {marks[1]} and without thousands marks",
        )
    if _NUMBER.fullmatch(cell.replace(b",", b".")):
        return f'"{text}" is larger than any number that is kept', "correct it or leave that row out"
    if b"," in cell and b"." in cell:
        remedy = "write numbers with one decimal mark and without thousands marks"
    else:
        remedy = "correct it or leave that row out"
    return f'"{text}" is not a number', remedy
