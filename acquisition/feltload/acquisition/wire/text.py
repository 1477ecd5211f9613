"""Samples from text lines, many lines at once."""

from __future__ import annotations

import csv
from io import BytesIO

import numpy as np
import pandas as pd

from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing.line_checks import begins_with, check_holds, stripped
from feltload.acquisition.wire.framing.pieces import Pieces, split_at
from feltload.acquisition.wire.samples import WireSamples
from feltload.core import Bytes, Flags, Floats, Indices

__all__ = ["count_delimiters", "read_lines"]

NEWLINE = 0x0A
QUOTE = b'"'
_BLOCK = 200_000
"""Lines parsed at a time; a block with a line that is no number is halved until that line is found."""


def read_lines(arrivals: Arrivals, description: StreamDescription) -> WireSamples:
    """Samples of one stream of text lines.

    The first line after a link was opened may have lost its beginning and still look sound, so it is
    left out, unless the lines come from a file.
    """
    from_file = description.timing != "arrival"
    if from_file and arrivals.data.size and arrivals.data[-1] != NEWLINE:
        ends = arrivals.ends.copy()
        ends[-1] += 1
        arrivals = Arrivals(np.append(arrivals.data, np.uint8(NEWLINE)), ends, arrivals.host_ns)
    data = arrivals.data
    pieces = split_at(arrivals, NEWLINE)
    keep = np.ones(pieces.starts.size, dtype=bool)
    keep[: description.header_lines] = False
    if not from_file:
        keep &= ~pieces.fresh
    dropped = pieces.loose_bytes + int(pieces.lengths[~keep].sum()) * (not from_file)
    keep &= ~((pieces.lengths == 1) & (data[pieces.starts] == 0x0D))
    if from_file:
        keep &= _says_something(data, pieces, description)
    for words in (description.comment, description.header):
        if words:
            keep &= ~begins_with(data, pieces, words.encode())
    data, pieces, keep, ignored, unmarked, bad_checksum = _taken_off(data, pieces, keep, description)
    dropped += unmarked[1] + bad_checksum[1]
    mark = description.fields[0].equals
    if isinstance(mark, str):
        marked = begins_with(data, pieces, mark.encode() + _delimiter(description))
        ignored += int((keep & ~marked).sum())
        keep &= marked
    sound = _shape_holds(data, pieces, description)
    bad = unmarked[0] + int((keep & ~sound).sum())
    dropped += int(pieces.lengths[keep & ~sound].sum())
    lines = np.flatnonzero(keep & sound)
    table, good = _parsed(data, pieces, lines, description)
    bad += int((~good).sum())
    dropped += int(pieces.lengths[lines[~good]].sum())
    lines = lines[good]
    table = table[:, good]
    columns: dict[str, Floats] = {}
    saturated = 0
    valid = np.ones(lines.size, dtype=bool)
    for item, values in zip(_numbers(description), table, strict=True):
        if item.invalid is not None:
            valid &= values != item.invalid
        if item.saturation is not None:
            saturated += int(((values <= item.saturation[0]) | (values >= item.saturation[1])).sum())
        if item.name in ("seq", "device_time"):
            columns[item.column] = values
        elif item.quantity != "none":
            columns[item.column] = (values - item.zero) * item.si_factor
    if not valid.all():
        columns = {name: values[valid] for name, values in columns.items()}
        lines = lines[valid]
    return WireSamples(columns, pieces.message[lines], saturated, bad_checksum[0], bad, ignored, dropped)


def _taken_off(
    data: Bytes, pieces: Pieces, keep: Flags, description: StreamDescription
) -> tuple[Bytes, Pieces, Flags, int, tuple[int, int], tuple[int, int]]:
    """Take prefix and check value off the lines.

    Returns
    -------
    data, pieces, keep
        The lines without them, and those that are still to be read.
    ignored : int
        Lines without the prefix.
    unmarked, wrong : tuple of int
        Lines without a check value, and with a wrong one: how many, and their bytes.
    """
    prefix = description.prefix.encode()
    ignored, behind = 0, 0
    lost = [(0, 0), (0, 0)]
    if prefix:
        own = begins_with(data, pieces, prefix)
        ignored = int((keep & ~own).sum())
        keep = keep & own
    if description.checksum is not None:
        behind = 1 + 2 * description.checksum.check.size
        marked, sound = check_holds(data, pieces, description.checksum, len(prefix))
        for place, flags in enumerate((keep & ~marked, keep & marked & ~sound)):
            lost[place] = (int(flags.sum()), int(pieces.lengths[flags].sum()))
        keep = keep & sound
    data, pieces = stripped(data, pieces, len(prefix), behind)
    return data, pieces, keep, ignored, lost[0], lost[1]


def _numbers(description: StreamDescription) -> list[FieldDescription]:
    return [item for item in description.fields if item.type == "number"]


def _delimiter(description: StreamDescription) -> bytes:
    return b" " if description.delimiter == "whitespace" else description.delimiter.encode()


def _says_something(data: Bytes, pieces: Pieces, description: StreamDescription) -> Flags:
    """Lines with more than delimiters, blanks and quotes: spreadsheets write empty rows as ";;"."""
    empty = np.zeros(256, dtype=bool)
    empty[list(b" \t\r\n" + QUOTE + _delimiter(description))] = True
    first = data[pieces.starts]
    out = ~empty[first]
    doubtful = np.flatnonzero(~out)
    if doubtful.size:
        marks = np.flatnonzero(~empty[data])
        stops = pieces.starts[doubtful] + pieces.lengths[doubtful]
        out[doubtful] = _counts(marks, pieces.starts[doubtful], stops) > 0
    return out


def count_delimiters(data: Bytes, pieces: Pieces, delimiter: str, *, quoted: bool) -> tuple[Indices, Flags]:
    """Delimiters of each line outside of quotes, and whether its quotes are closed.

    Parameters
    ----------
    data : uint8 array
    pieces : Pieces
        The lines; a quote never spans two.
    delimiter : str
        One character.
    quoted : bool
        Cells may be in double quotes.
    """
    starts, stops = pieces.starts, pieces.starts + pieces.lengths
    marks = np.flatnonzero(data == ord(delimiter))
    closed = np.ones(starts.size, dtype=bool)
    if quoted:
        quotes = np.flatnonzero(data == QUOTE[0])
        before = np.searchsorted(quotes, starts)
        closed = (np.searchsorted(quotes, stops) - before) % 2 == 0
        # A mark inside quotes has an odd number of them between the line's start and itself.
        line = np.clip(np.searchsorted(starts, marks, side="right") - 1, 0, None)
        if starts.size:
            marks = marks[(np.searchsorted(quotes, marks) - before[line]) % 2 == 0]
    return _counts(marks, starts, stops), closed


def _shape_holds(data: Bytes, pieces: Pieces, description: StreamDescription) -> Flags:
    """Lines with the right number of columns and, if all columns are numbers, nothing but numbers."""
    starts, stops = pieces.starts, pieces.starts + pieces.lengths
    count = len(description.fields)
    if description.delimiter == "whitespace":
        blank = (data == 0x20) | (data == 0x09) | (data == NEWLINE) | (data == 0x0D)
        marks = np.flatnonzero(~blank & np.concatenate([[True], blank[:-1]]))
        columns, sound = _counts(marks, starts, stops), np.ones(starts.size, dtype=bool)
    else:
        columns, sound = count_delimiters(data, pieces, description.delimiter, quoted=description.quoted)
        columns += 1
    sound &= columns >= count if description.more_columns else columns == count
    if not description.more_columns and all(item.type == "number" for item in description.fields):
        allowed = np.zeros(256, dtype=bool)
        allowed[list(b"0123456789+-.eE \t\r\n" + _delimiter(description) + description.decimal.encode())] = (
            True
        )
        allowed[QUOTE[0]] = description.quoted
        strange = np.flatnonzero(~allowed[data])
        if strange.size:
            sound &= _counts(strange, starts, stops) == 0
    return np.asarray(sound)


def _counts(marks: Indices, starts: Indices, stops: Indices) -> Indices:
    """How many of the ascending `marks` lie in each piece."""
    lines = starts.size
    per_line, left = divmod(marks.size, lines) if lines else (0, 0)
    if per_line and not left:
        # The usual case without a search: every line has as many as the others.
        grid = marks.reshape(lines, per_line)
        if np.all(grid[:, 0] >= starts) and np.all(grid[:, -1] < stops):
            return np.full(lines, per_line, dtype=np.int64)
    return np.searchsorted(marks, stops) - np.searchsorted(marks, starts)


def _parsed(
    data: Bytes, pieces: Pieces, lines: Indices, description: StreamDescription
) -> tuple[Floats, Flags]:
    """Numbers of the chosen lines, shape (columns, lines), and which lines were all numbers."""
    wanted = [k for k, item in enumerate(description.fields) if item.type == "number"]
    out = np.full((len(wanted), lines.size), np.nan)
    good = np.zeros(lines.size, dtype=bool)
    options = {
        "header": None,
        # Numbers, for columns that are read past have no name: with names for all, further ones would shift them.
        "usecols": wanted,
        "engine": "c",
        "dtype": dict.fromkeys(wanted, np.float64),
        "sep": r"\s+" if description.delimiter == "whitespace" else description.delimiter,
        "decimal": description.decimal,
        "quoting": csv.QUOTE_MINIMAL if description.quoted else csv.QUOTE_NONE,
        "skipinitialspace": description.quoted,
        "na_filter": False,
        "low_memory": False,
    }
    stack = [(start, min(start + _BLOCK, lines.size)) for start in range(0, lines.size, _BLOCK)]
    while stack:
        start, stop = stack.pop()
        try:
            table = pd.read_csv(BytesIO(_joined(data, pieces, lines[start:stop])), **options)  # type: ignore[call-overload]
            parsed = table[wanted].to_numpy(dtype=float).T
        except (ValueError, OverflowError):
            parsed = None
        if parsed is not None and parsed.shape[1] == stop - start:
            out[:, start:stop] = parsed
            good[start:stop] = np.isfinite(parsed).all(axis=0)
        elif stop - start > 1:
            middle = (start + stop) // 2
            stack += [(start, middle), (middle, stop)]
    return out, good


def _joined(data: Bytes, pieces: Pieces, lines: Indices) -> bytes:
    """Bytes of the chosen lines with their newlines."""
    first, last = int(lines[0]), int(lines[-1])
    start = int(pieces.starts[first])
    stop = int(pieces.starts[last] + pieces.lengths[last]) + 1
    if last - first + 1 == lines.size:
        return data[start:stop].tobytes()
    keep = np.zeros(stop - start + 1, dtype=np.int8)
    np.add.at(keep, pieces.starts[lines] - start, 1)
    np.add.at(keep, pieces.starts[lines] + pieces.lengths[lines] + 1 - start, -1)
    return bytes(data[start:stop][np.cumsum(keep[:-1], dtype=np.int8).astype(bool)].tobytes())
