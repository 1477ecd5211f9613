"""Text of a logger's file: its encoding, its line ends, and the lines about its head."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path

from feltload.core import InputError

__all__ = ["COMMENTS", "cells_of", "first_lines", "read_utf8"]

COMMENTS = ("#", "%", "//")
"""What a line that is passed over begins with."""
LARGEST_BYTES = 512 << 20
"""Hours of several sensors; more is read into no memory."""
HEAD_LINES = 50
"""Lines, empty ones not counted, among which the header must be."""
_HEAD_BYTES = 32 << 20
_CONTROL = re.compile(rb"[\x00-\x08]")


def read_utf8(path: Path) -> tuple[bytes, bytes]:
    """A file as it is, and its text in UTF-8 with lines that end in a newline.

    UTF-8 and UTF-16 with a byte order mark are known by it; what is not UTF-8 is read in the Western code page that
    spreadsheets still write: only names and texts beside the numbers can differ, digits are the same in both.

    Raises
    ------
    InputError
        It cannot be read, is too large, or is no text.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise InputError(
                f"{size >> 20} MB are more than the {LARGEST_BYTES >> 20} MB that are read at once",
                where=str(path),
                remedy="cut the file into sessions, or leave out columns that are not used",
            )
        data = path.read_bytes()
    except FileNotFoundError:
        raise InputError("no such file", where=str(path), remedy="check the path") from None
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror or error})", where=str(path)) from None
    return data, _lines(_utf8(data, path))


def _utf8(data: bytes, path: Path) -> bytes:
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            data = data.decode("utf-16").encode()
        text = data.removeprefix(b"\xef\xbb\xbf")
        text.decode()
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace").encode()
        if b"\xef\xbf\xbd" in text:
            raise _no_text(path) from None
    if _CONTROL.search(text):
        raise _no_text(path)
    return text


def _no_text(path: Path) -> InputError:
    return InputError("not a text file", where=str(path), remedy="save it as CSV in UTF-8")


def _lines(text: bytes) -> bytes:
    if b"\r" in text:
        text = text.replace(b"\r\n", b"\n")
        if b"\n" not in text:
            text = text.replace(b"\r", b"\n")
    return text


def first_lines(text: bytes) -> Iterator[tuple[int, str]]:
    """Number, counted from 1, and text of the lines at the beginning that are not empty."""
    start, number, seen = 0, 0, 0
    while start < min(len(text), _HEAD_BYTES) and seen < HEAD_LINES:
        stop = text.find(b"\n", start)
        stop = len(text) if stop < 0 else stop
        number += 1
        line = text[start:stop].decode()
        start = stop + 1
        if line.strip():
            seen += 1
            yield number, line


def cells_of(line: str, delimiter: str) -> list[str]:
    """Cells of a line, without quotes and blanks around them."""
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    try:
        # A blank may stand before a quote, as many programs write.
        cells = next(csv.reader([line.replace("\r", " ")], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        # A cell without end, as of a file that is no table.
        return [line]
    return [cell.strip() for cell in cells]
