"""Angles and ranges as they are typed."""

from __future__ import annotations

import math

from feltload.app.errors import UsageError
from feltload.coaching import PER_UNIT, LoadLine, Plates
from feltload.core import parse_quantity, si_per_unit

Span = tuple[float, float]


def read_angle_rad(text: str, option: str) -> float:
    """An angle such as "20 deg"."""
    return parse_quantity(text, "angle", where=option).value


def read_percent(text: str, option: str) -> float:
    """A number of percent such as "2 %" or 2, above zero.

    Raises
    ------
    UsageError
        When it is not that.
    """
    try:
        percent = float(text.strip().removesuffix("%"))
    except ValueError:
        percent = math.nan
    if not 0.0 < percent <= 100.0:
        raise UsageError(
            f"{text!r} is not a number of percent above 0, up to 100",
            where=option,
            remedy='write it as "20 %"',
        )
    return percent


def read_position_rad(text: str, option: str, travel_rad: Span) -> float:
    """A position: an angle such as "20 deg", or a part of the travel such as "60 %".

    Raises
    ------
    UsageError
        When it is neither.
    """
    if not text.strip().endswith("%"):
        return read_angle_rad(text, option)
    low, high = travel_rad
    return low + 0.01 * read_percent(text, option) * (high - low)


def read_ends_rad(
    start: str | None, stop: str | None, line: LoadLine, travel_rad: Span
) -> tuple[float | None, float | None]:
    """A later start and an earlier turn, each inside the measured travel.

    Raises
    ------
    UsageError, OverlapError
        When one cannot be read, or lies outside.
    """
    start_rad = None if start is None else read_position_rad(start, "--start", travel_rad)
    stop_rad = None if stop is None else read_position_rad(stop, "--stop", travel_rad)
    for at_rad, what in ((start_rad, "a start"), (stop_rad, "a stop")):
        if at_rad is not None:
            line.require_inside(at_rad, what)
    return start_rad, stop_rad


def read_range_rad(text: str, option: str, travel_rad: Span | None = None) -> Span:
    """A range such as "20:40 deg", low end first; where the travel is known also "60:90 %".

    Raises
    ------
    UsageError
        When it is not two angles.
    """
    low, colon, high = text.partition(":")
    if not colon:
        raise UsageError(f"{text!r} is not a range", where=option, remedy='write it as "20:40 deg"')
    if travel_rad is not None and high.strip().endswith("%"):
        words = [f"{end.strip().removesuffix('%')} %" for end in (low, high)]
        ends = [read_position_rad(word, option, travel_rad) for word in words]
    else:
        words = [f"{end} deg" if _is_plain(end) else end for end in (low, high)]
        ends = [read_angle_rad(word, option) for word in words]
    if ends[0] >= ends[1]:
        raise UsageError(f"{text!r} does not rise", where=option, remedy="write the lower angle first")
    return ends[0], ends[1]


def read_plates(text: str, option: str) -> Plates:
    """Sizes of plates such as "2.5 5 10 kg", all in the unit at the end.

    Raises
    ------
    UsageError
        When it is not that.
    """
    *sizes, unit = text.split() or [""]
    masses = [parse_quantity(f"{size} {unit}", "mass", where=option) for size in sizes]
    if not masses:
        raise UsageError(
            f"{text!r} is not a list of plates", where=option, remedy='write it as "2.5 5 10 kg"'
        )
    return Plates(tuple(round(PER_UNIT * float(size)) for size in sizes), si_per_unit(unit, "mass"))


def _is_plain(text: str) -> bool:
    """Whether a number stands without a unit; the unit of the range's end is then degrees."""
    try:
        float(text)
    except ValueError:
        return False
    return True
