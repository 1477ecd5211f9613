"""Lines of text: delimiter, prefix, check value, headers and comments, and what the columns are.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np

from feltload.acquisition.guessing.facts import GuessFact
from feltload.acquisition.guessing.fields.meaning import read_meaning
from feltload.acquisition.guessing.fields.raw_column import RawColumn
from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.checks.check import Check
from feltload.acquisition.wire.checks.named import catalogue
from feltload.acquisition.wire.checks.sums import SUMS
from feltload.core import Fact, Figure, Severity

__all__ = ["describe_lines", "text_lines"]

Keys = dict[str, Any]
LEAST_LINES = 5
_MARKS = "$!>@&"
_COMMENTS = ("#", "//", "%", ";")


def text_lines(arrivals: Arrivals) -> list[tuple[str, float]]:
    """Whole lines and their arrival in seconds; the first may be cut, so it is left out."""
    data = arrivals.data.tobytes()
    ends = np.flatnonzero(arrivals.data == 0x0A)
    host_s = arrivals.host_ns[arrivals.message_of(ends)] * 1e-9
    lines = data.decode("ascii", "replace").split("\n")[1 : ends.size]
    return [(line.strip(), float(at)) for line, at in zip(lines, host_s[1:], strict=True) if line.strip()]


def describe_lines(lines: list[tuple[str, float]]) -> tuple[Keys, list[tuple[Keys, list[Fact]]]] | None:
    """Describe the streams of lines.

    Returns
    -------
    framing : dict
        Keys that all streams share.
    streams : list of (dict, list of Fact)
        As `describe_frames` gives them.
    """
    if len(lines) < LEAST_LINES:
        return None
    keys: Keys = {"framing": "lines"}
    facts: list[Fact] = []
    comment = next((mark for mark in _COMMENTS if any(line.startswith(mark) for line, _ in lines)), "")
    if comment and all(line.startswith(comment) for line, _ in lines):
        comment = ""
    if comment:
        keys["comment"] = comment
        lines = [item for item in lines if not item[0].startswith(comment)]
    lines = _without_check(lines, keys, facts)
    if len(lines) < LEAST_LINES:
        return None
    # The comma comes last: between semicolons or tabs it is a decimal comma.
    often = (mark for mark in ";\t," if sum(mark in line for line, _ in lines) >= 0.5 * len(lines))
    delimiter = next(often, "whitespace")
    if delimiter != ",":
        keys["delimiter"] = delimiter
        if delimiter in ";\t" and sum("," in line for line, _ in lines) > 0.2 * len(lines):
            keys["decimal"] = ","
    return keys, _by_kind(lines, keys, delimiter, facts)


def _without_check(lines: list[tuple[str, float]], keys: Keys, facts: list[Fact]) -> list[tuple[str, float]]:
    """Take prefix and check value off, where the lines have them."""
    first = Counter(line[0] for line, _ in lines).most_common(1)[0]
    prefix = first[0] if first[0] in _MARKS and first[1] >= 0.8 * len(lines) else ""
    if prefix:
        keys["prefix"] = prefix
        lines = [(line, at) for line, at in lines if line.startswith(prefix)]
    marked = [(line, at) for line, at in lines if _tail(line) is not None]
    if len(marked) < 0.8 * len(lines):
        return [(line[len(prefix) :], at) for line, at in lines]
    digits = Counter(len(tail) for line, _ in marked if (tail := _tail(line)) is not None).most_common(1)[0][
        0
    ]
    checks: list[Check] = [*SUMS.values(), *dict.fromkeys(catalogue().values())]
    for check in sorted(checks, key=lambda check: check.name != "XOR-8"):
        if 2 * check.size != digits:
            continue
        passed = [line for line, _ in marked if _passes(line[len(prefix) :], check)]
        if len(passed) >= 0.9 * len(marked):
            keys["checksum"] = {"name": check.name}
            share = len(passed) / len(marked)
            figures: dict[str, Figure] = {"name": check.name, "passed": share}
            facts.append(Fact(GuessFact.CHECK_PASSED, Severity.NOTE, figures=figures))
            return [
                (line[len(prefix) :].rpartition("*")[0], at) for line, at in marked if line in set(passed)
            ]
    return [(line[len(prefix) :], at) for line, at in lines]


def _tail(line: str) -> str | None:
    """Hexadecimal digits behind the last star, None without."""
    _, star, tail = line.rpartition("*")
    whole = star and tail and len(tail) % 2 == 0 and all(c in "0123456789abcdefABCDEF" for c in tail)
    return tail if whole else None


def _passes(line: str, check: Check) -> bool:
    body, _, tail = line.rpartition("*")
    return bool(check.of(body.encode()) == int(tail, 16))


def _by_kind(
    lines: list[tuple[str, float]], shared: Keys, delimiter: str, facts: list[Fact]
) -> list[tuple[Keys, list[Fact]]]:
    """A stream for lines of each word in front, or of all lines."""
    cells = [(line.split() if delimiter == "whitespace" else line.split(delimiter), at) for line, at in lines]
    words = Counter(row[0].strip() for row, _ in cells if _number(row[0], shared) is None)
    headed = [word for word, count in words.items() if count >= max(LEAST_LINES, 0.05 * len(cells))]
    out = []
    kinds: list[str | None] = [*headed] or [None]
    for word in kinds:
        rows = [(row, at) for row, at in cells if word is None or row[0].strip() == word]
        width = Counter(len(row) for row, _ in rows).most_common(1)[0][0]
        table = []
        for row, at in rows:
            numbers = [_number(cell, shared) for cell in row[word is not None :]]
            if len(row) == width and None not in numbers:
                table.append((numbers, at))
        if len(table) < LEAST_LINES:
            continue
        out += _streams(table, word, shared, facts, headers=_header(cells, shared) if word is None else "")
    return out


def _streams(
    table: list[tuple[list[float | None], float]],
    word: str | None,
    shared: Keys,
    facts: list[Fact],
    *,
    headers: str,
) -> list[tuple[Keys, list[Fact]]]:
    values = np.array([row for row, _ in table], dtype=float)
    host_s = np.array([at for _, at in table])
    columns = [
        RawColumn({}, column, None, True, bool(np.all(column == np.round(column)))) for column in values.T
    ]
    span = float(host_s[-1] - host_s[0])
    rate_hz = (len(table) - 1) / span if span > 0 else 1.0
    out = []
    for meaning in read_meaning(columns, host_s, text=True, several=False):
        tag = [] if word is None else [{"name": "tag", "type": "text", "equals": word}]
        keys = {"kind": meaning.kind, **shared, "rate_hz": meaning.frames_hz or rate_hz}
        keys |= {"header": headers} if headers else {}
        out.append(({**keys, "fields": [*tag, *meaning.fields]}, [*facts, *meaning.facts]))
    return out


def _header(cells: list[tuple[list[str], float]], shared: Keys) -> str:
    """First cell of a line of words, where one came among the numbers."""
    worded = [row for row, _ in cells if all(_number(cell, shared) is None for cell in row) and len(row) > 1]
    return worded[0][0].strip() if worded else ""


def _number(cell: str, shared: Keys) -> float | None:
    text = cell.strip()
    if shared.get("decimal") == ",":
        text = text.replace(",", ".")
    try:
        return float(text) if text.lower() not in ("nan", "inf", "-inf") else None
    except ValueError:
        return None
