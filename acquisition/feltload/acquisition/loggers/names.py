"""What a column of a logger's file measures and in which unit, by its name."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.acquisition.wire.descriptions.fields import AXES
from feltload.core import STANDARD_GRAVITY_M_S2, InputError

__all__ = [
    "UNITS",
    "ColumnNames",
    "Meaning",
    "listed",
    "meaning_of",
    "our_name",
    "parse_columns",
    "quantity_of",
    "required",
    "unit_of",
]

ColumnNames = tuple[tuple[str, str], ...]
"""Pairs of our name of a column and the file's own, or its number counted from 1."""

_FORCE_LBF_N = 0.45359237 * STANDARD_GRAVITY_M_S2

UNITS: dict[str, dict[str, float]] = {
    "time": {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9},
    "force": {
        "N": 1.0,
        "kN": 1e3,
        "kgf": STANDARD_GRAVITY_M_S2,
        "lbf": _FORCE_LBF_N,
        "mV/V": 1.0,
        "counts": 1.0,
    },
    "gyro": {"rad/s": 1.0, "deg/s": float(np.deg2rad(1.0))},
    "accel": {"m/s2": 1.0, "g": STANDARD_GRAVITY_M_S2, "mg": 1e-3 * STANDARD_GRAVITY_M_S2},
}
"""Units of each quantity, with the SI value of one."""

SUFFIXES = {
    unit: unit.replace("/", "_").casefold() for units in UNITS.values() for unit in units if unit != "m/s2"
} | {"m/s2": "m_s2"}
"""Unit -> what it is called at the end of a column's name."""

_SPELLINGS = {
    "s": {"s", "sec", "secs", "second", "seconds"},
    "ms": {"ms", "msec", "millisecond", "milliseconds"},
    "us": {"us", "µs", "μs", "usec", "microsecond", "microseconds"},
    "ns": {"ns", "nsec", "nanosecond", "nanoseconds"},
    "N": {"n", "newton", "newtons"},
    "kN": {"kn", "kilonewton", "kilonewtons"},
    "kgf": {"kgf", "kp"},
    "lbf": {"lbf"},
    "mV/V": {"mv/v", "mv_v"},
    "counts": {"counts", "count", "raw", "lsb"},
    "rad/s": {"rad/s", "rad s-1", "rad·s⁻¹", "rad_s", "rad/sec", "rad_per_s", "radians_per_second"},
    "deg/s": {"deg/s", "°/s", "dps", "deg_s", "deg/sec", "º/s", "deg_per_s", "degrees_per_second"},
    "m/s2": {
        "m/s2",
        "m/s^2",
        "m/s²",
        "m s-2",
        "m·s⁻²",
        "m_s2",
        "m/s/s",
        "m/s**2",
        "m_per_s2",
        "meters_per_s2",
    },
    "g": {"g", "gs"},
    "mg": {"mg"},
}
_UNIT_OF = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}

_WORDS = (
    (re.compile(r"^timestamp(?=_|$)"), "time"),
    (re.compile(r"^(accelerometer|acceleration|acc)(?=_|[xyz]|$)"), "accel"),
    (re.compile(r"^(gyroscope|angular_velocity|angular_rate|gyr)(?=_|[xyz]|$)"), "gyro"),
)
_STEM = re.compile(r"\W*(time|host|force|gyr|acc|ang)", re.IGNORECASE)
_BRACKETS = re.compile(r"^(.+?)[\s_]*(?:\[([^\[\]]*)\]|\(([^()]*)\)|\s/\s(\S+))\s*$")
_KEY = re.compile(r"(time|host_time|force|(?:gyro|accel)_?([xyz]))(?:_(.+))?")


@dataclass(frozen=True)
class Meaning:
    """What a column measures.

    Parameters
    ----------
    field : str
        ``time``, ``host_time``, ``force``, ``gyro_x`` ... ``accel_z``.
    unit : str, optional
        None where the name states none.
    """

    field: str
    unit: str | None


def quantity_of(field: str) -> str:
    """Quantity of a field: time, force, gyro, accel."""
    return "time" if field.endswith("time") else field.split("_")[0]


def unit_of(text: str, field: str) -> str | None:
    """The unit that a text stands for, None if it is none of the field's quantity."""
    unit = _UNIT_OF.get(text.strip("[]() ").casefold())
    return unit if unit in UNITS[quantity_of(field)] else None


def required(part: str) -> tuple[str, ...]:
    """Fields that a file of a part (force, inertial, gyro, accel) must have beside the time."""
    return {
        "force": ("force",),
        "inertial": AXES["gyro"] + AXES["accel"],
        "gyro": AXES["gyro"],
        "accel": AXES["accel"],
    }[part]


def meaning_of(name: str) -> Meaning | None:
    """What a column's name says, None where it is none that is known."""
    if not _STEM.match(name):
        return None
    bracketed = _BRACKETS.match(name)
    bare, unit_text = name, None
    if bracketed is not None:
        bare = bracketed.group(1)
        unit_text = next(group for group in bracketed.groups()[1:] if group is not None)
    key = re.sub(r"[^a-z0-9]+", "_", bare.casefold()).strip("_")
    for pattern, word in _WORDS:
        key = pattern.sub(word, key)
    found = _KEY.fullmatch(key)
    if found is None:
        return None
    axis = found.group(2)
    field = found.group(1) if axis is None else f"{found.group(1).rstrip('xyz_')}_{axis}"
    unit = None
    for text in (unit_text, found.group(3)):
        if text is None:
            continue
        stated = unit_of(text, field)
        if stated is None or unit not in (None, stated):
            return None
        unit = stated
    return Meaning(field, unit)


def our_name(field: str, unit: str | None) -> str:
    """How a column of a field and a unit is called in ``--columns``."""
    return field if unit is None else f"{field}_{SUFFIXES[unit]}"


def parse_columns(text: str) -> ColumnNames:
    """Read "time_s=Time,force_n=Load" into (("time_s", "Time"), ...).

    A part whose column has a comma in its name stands in double quotes: ``"force_n=Load, left"``.

    Raises
    ------
    InputError
        If a part is not NAME=COLUMN, or its name is none that means something.
    """
    out = []
    try:
        parts = next(csv.reader([text], skipinitialspace=True), [])
    except csv.Error:
        parts = [text]
    for part in filter(None, (part.strip() for part in parts)):
        name, equals, column = (piece.strip() for piece in part.partition("="))
        if not (name and equals and column):
            raise InputError(
                f'"{_short(part)}" is not NAME=COLUMN',
                where="--columns",
                remedy="map it with --columns, such as --columns time_s=Time",
            )
        if meaning_of(name) is None:
            raise InputError(
                f'"{_short(name)}" is no name that means something',
                where="--columns",
                remedy="use time_s, host_time_s, force_n, gyro_x_rad_s, accel_x_m_s2 ..., or their other units",
            )
        out.append((name, column))
    return tuple(out)


def listed(names: Sequence[str], most: int = 12) -> str:
    """Names in one line, the first of them where there are many."""
    more = len(names) - most
    return ", ".join(_short(name) for name in names[:most]) + (f" and {more} more" if more > 0 else "")


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:37]}..."
