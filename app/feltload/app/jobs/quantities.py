"""Angles and ranges as they are typed."""

from __future__ import annotations

import math

from feltload.app.errors import UsageError
from feltload.coaching import PER_UNIT, LoadLine, Plates
from feltload.core import QuantityError, parse_quantity, si_per_unit
from feltload.signal import AngleKind, Travel

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


def read_position_rad(text: str, option: str, travel: Travel, *, measured: bool = True) -> float:
    """A position as start angle plus rotation: a part of the travel, a way of the handle, or the angle that is shown.

    Parameters
    ----------
    text : str
        Such as "60 %", "31 cm" from the start stop, or "20 deg" on a machine whose positions have an angle.
    option : str
    travel : Travel
    measured : bool
        Whether `travel` is the measured one; otherwise a part of it is refused.

    Raises
    ------
    UsageError
        When it is none of these, or the machine's positions have no such thing.
    QuantityError
        When number or unit cannot be read.
    """
    if text.strip().endswith("%"):
        if not measured:
            raise UsageError(
                f"{text!r} is a part of a travel that is not known here",
                where=option,
                remedy=f"name the result with --result, or write {_usual(travel)}",
            )
        return travel.at_share(0.01 * read_percent(text, option))
    try:
        way_m = parse_quantity(text, "length", where=option).value
    except QuantityError:
        return _at_angle(text, option, travel)
    if travel.path_m is None:
        raise UsageError(
            "the handle's way is not known on this machine", where=option, remedy=f"write {_usual(travel)}"
        )
    return travel.at_way(way_m)


def _at_angle(text: str, option: str, travel: Travel) -> float:
    shown_rad = read_angle_rad(text, option)
    at_rad = None if travel.scale.angle is AngleKind.ROTATION else travel.at_shown(shown_rad)
    if at_rad is None:
        raise UsageError(
            f"{text!r} names no position: on this machine the handle has no angle of its own"
            if travel.scale.angle is AngleKind.ROTATION
            else f"{text!r} names no one position: the handle's line never comes there, or comes there twice",
            where=option,
            remedy=f"write {_usual(travel)}",
        )
    return at_rad


def _usual(travel: Travel) -> str:
    """What a person may write on this machine."""
    if travel.scale.angle is AngleKind.LEVER:
        return 'an angle such as "20 deg", or "31 cm" from the start stop'
    return '"31 cm" from the start stop, or a part of the measured travel such as "60 %"'


def read_ends_rad(
    start: str | None, stop: str | None, line: LoadLine, travel: Travel
) -> tuple[float | None, float | None]:
    """A later start and an earlier turn, each inside the measured travel.

    Raises
    ------
    UsageError, OverlapError
        When one cannot be read, or lies outside.
    """
    start_rad = None if start is None else read_position_rad(start, "--start", travel)
    stop_rad = None if stop is None else read_position_rad(stop, "--stop", travel)
    for at_rad, what in ((start_rad, "a start"), (stop_rad, "a stop")):
        if at_rad is not None:
            line.require_inside(at_rad, what)
    return start_rad, stop_rad


def read_range_rad(text: str, option: str, travel: Travel | None = None, *, measured: bool = True) -> Span:
    """A range such as "20:40 deg", "30:45 cm" or "60:90 %", low end first; angles alone where no travel is known.

    Raises
    ------
    UsageError
        When it is not two positions.
    """
    low, colon, high = text.partition(":")
    if not colon:
        raise UsageError(
            f"{text!r} is not a range", where=option, remedy='write it as "20:40 deg" or "60:90 %"'
        )
    unit = high.strip().lstrip("+-−0123456789.,eE ") or "deg"
    words = [f"{end} {unit}" if _is_plain(end) else end for end in (low, high)]
    if travel is None:
        ends = [read_angle_rad(word, option) for word in words]
    else:
        ends = [read_position_rad(word, option, travel, measured=measured) for word in words]
    if unit == "deg" and travel is not None and travel.scale.angle is AngleKind.HANDLE_LINE:
        # Along the travel the handle's line may turn either way.
        ends.sort()
    if ends[0] >= ends[1]:
        raise UsageError(f"{text!r} does not rise", where=option, remedy="write the lower end first")
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
    """Whether a number stands without a unit; the range's end says it, or it is degrees."""
    try:
        float(text)
    except ValueError:
        return False
    return True
