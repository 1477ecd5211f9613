"""Times as loggers write them: a counter, an epoch, a date and clock time, a clock time alone."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from feltload.core import Floats

__all__ = [
    "PER_SECOND",
    "ClockKind",
    "TimeColumn",
    "clock_ns",
    "epoch_unit",
    "is_clock",
    "is_epoch",
    "whole_and_part",
]

ClockKind = Literal["counter", "epoch", "day"]
"""Counted from anywhere; counted from 1970 or dated; time of day without a date."""

DAY_S = 86_400
PER_SECOND = {"s": 1, "ms": 1_000, "us": 1_000_000, "ns": 1_000_000_000}
_CLOCK = re.compile(
    r"(?:(?P<date>\d{4}-\d\d-\d\d)(?:T|\s+)|\S*\d\S*\s+)?"
    r"(?P<h>\d{1,2}):(?P<m>[0-5]\d)(?::(?P<s>[0-6]\d)(?:[.,:](?P<f>\d{1,12}))?)?"
    r"(?:\s*(?P<half>[AP])\.?M\.?)?\s*(?P<zone>Z|UTC|GMT|[+-]\d\d:?\d\d|[+-]\d\d)?",
    re.IGNORECASE,
)
_EPOCH_S = (1e9, 4.2e9)
"""Seconds since 1970 that a logger of our days can show."""
_LARGE_S = 1e8


@dataclass(frozen=True, eq=False)
class TimeColumn:
    """One column of times.

    Parameters
    ----------
    time_s : float array, shape (n,)
        Seconds from `origin_s`.
    origin_s : Fraction
        0 for a counter, so that its values stay as the logger wrote them.
    kind : ClockKind
    """

    time_s: Floats
    origin_s: Fraction
    kind: ClockKind

    @classmethod
    def of_counter(cls, values: Floats, per_second: int) -> TimeColumn:
        """Counted from anywhere."""
        return cls(values if per_second == 1 else values / per_second, Fraction(0), "counter")

    @classmethod
    def of_epoch(cls, whole: NDArray[np.int64], part: Floats, per_second: int) -> TimeColumn:
        """Counted from 1970: whole units and parts of one, for a float does not hold all digits of both."""
        first = int(whole[0])
        return cls((whole - first + part) / per_second, Fraction(first, per_second), "epoch")

    @classmethod
    def of_clock(cls, stamps_ns: NDArray[np.int64], *, dated: bool) -> TimeColumn:
        """Dates and clock times, in ns since 1970, or since midnight, where midnight may pass."""
        if not dated and stamps_ns.size:
            day = DAY_S * 10**9
            passed = np.cumsum(np.concatenate([[False], np.diff(stamps_ns) < -day // 2]))
            stamps_ns = stamps_ns + passed * day
        origin = int(stamps_ns[0]) // 10**9 if stamps_ns.size else 0
        time_s = (stamps_ns - origin * 10**9) / 1e9
        return cls(time_s, Fraction(origin), "epoch" if dated else "day")

    @property
    def started_utc(self) -> str:
        """When its first sample was taken, ISO 8601; empty where it does not count from 1970 or the year cannot be.

        Times without a zone are taken as UTC, as they stand.
        """
        if self.kind != "epoch" or not _EPOCH_S[0] <= self.origin_s <= _EPOCH_S[1]:
            return ""
        started = dt.datetime.fromtimestamp(float(self.origin_s) + float(self.time_s[0]), dt.UTC)
        return started.isoformat(timespec="milliseconds")

    def seconds_from(self, origin_s: Fraction) -> Floats:
        """The same, counted from another origin."""
        moved = self.origin_s - origin_s
        return self.time_s if moved == 0 else self.time_s + float(moved)


def is_clock(cell: bytes) -> bool:
    """Whether a cell is a clock time, with or without a date."""
    return len(cell) < 64 and b":" in cell and _CLOCK.fullmatch(cell.decode(errors="replace")) is not None


LARGEST_TIME: Final = 2.0**62
"""In whatever unit; nanoseconds since 1970 stay below."""


def clock_ns(cells: Sequence[bytes]) -> tuple[NDArray[np.int64], bool] | int:
    """Dates and clock times in ns, and whether they are dated; or the number of the first cell that is none.

    Dates other than year-month-day are read past: which part is the month is unknown, and midnight is counted.
    Times without a zone are taken as they stand.
    """
    out = np.empty(len(cells), dtype=np.int64)
    dated = None
    for number, cell in enumerate(cells):
        found = _CLOCK.fullmatch(cell.decode(errors="replace")) if len(cell) < 64 else None
        if found is None:
            return number
        date, hours, minutes, seconds, fraction, half, zone = found.groups()
        if dated is None:
            dated = date is not None
        hour = int(hours)
        if half:
            hour = hour % 12 + 12 * (half in "pP")
        if dated != (date is not None) or hour > 23:
            return number
        whole = 3600 * hour + 60 * int(minutes) + int(seconds or 0)
        if date is not None:
            days = _day(date)
            if days is None:
                return number
            whole += DAY_S * days - _offset_s(zone)
        parts = int(fraction.ljust(9, "0")[:9]) if fraction else 0
        out[number] = whole * 10**9 + parts
    return out, bool(dated)


@lru_cache(maxsize=64)
def _day(date: str) -> int | None:
    try:
        return dt.date.fromisoformat(date).toordinal() - dt.date(1970, 1, 1).toordinal()
    except ValueError:
        return None


@lru_cache(maxsize=64)
def _offset_s(zone: str | None) -> int:
    if not zone or zone[0] not in "+-":
        return 0
    digits = zone[1:].replace(":", "").ljust(4, "0")
    return (3600 * int(digits[:2]) + 60 * int(digits[2:])) * (-1 if zone[0] == "-" else 1)


def is_epoch(first: float, per_second: int) -> bool:
    """Whether a first value is so large that its counting began in 1970, not with the logger."""
    return abs(first) / per_second >= _LARGE_S


def whole_and_part(cells: Sequence[bytes], values: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Digits before and behind the decimal mark of plain numbers, whose floats are `values`."""
    if (
        max(map(len, cells), default=0) > 30
        or b"e" in (joined := b"\n".join(cells).lower())
        or b"-" in joined
    ):
        return _split(values)
    halves = [cell.replace(b",", b".").partition(b".") for cell in cells]
    try:
        whole = np.array([half[0] for half in halves]).astype(np.int64)
    except (ValueError, OverflowError):
        return _split(values)
    return whole, np.array([b"0." + half[2] + b"0" for half in halves]).astype(np.float64)


def _split(values: Floats) -> tuple[NDArray[np.int64], Floats]:
    whole = np.floor(np.clip(values, -LARGEST_TIME, LARGEST_TIME)).astype(np.int64)
    return whole, values - whole


def epoch_unit(values: Floats) -> str | None:
    """The unit in which numbers count from 1970, None where they may not."""
    if values.size < 2:
        return None
    first, step = abs(float(values[0])), float(values[-1] - values[0]) / (values.size - 1)
    for unit, per_second in PER_SECOND.items():
        if _EPOCH_S[0] <= first / per_second <= _EPOCH_S[1] and 0 < step / per_second < 0.5:
            return unit
    return None
