"""Angles and ranges as they are typed."""

from __future__ import annotations

from feltload.app.errors import UsageError
from feltload.coaching import PER_UNIT, Plates
from feltload.core import parse_quantity, si_per_unit


def read_angle_rad(text: str, option: str) -> float:
    """An angle such as "20 deg"."""
    return parse_quantity(text, "angle", where=option).value


def read_range_rad(text: str, option: str) -> tuple[float, float]:
    """A range such as "20:40 deg", low end first.

    Raises
    ------
    UsageError
        When it is not two angles.
    """
    low, colon, high = text.partition(":")
    if not colon:
        raise UsageError(f"{text!r} is not a range", where=option, remedy='write it as "20:40 deg"')
    ends = tuple(
        parse_quantity(text if not _is_plain(text) else f"{text} deg", "angle", where=option).value
        for text in (low, high)
    )
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
