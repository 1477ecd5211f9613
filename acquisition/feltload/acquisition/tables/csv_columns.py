"""What the columns of a user's CSV file mean, by their names and by a row of units below them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.acquisition.tables.csv_layout import MAP_REMEDY
from feltload.acquisition.wire.descriptions.fields import AXES, FieldDescription
from feltload.core import InputError

__all__ = ["KNOWN_COLUMNS", "csv_fields", "require_units"]

_FORCE_UNITS = {"force_n": "N", "force_kgf": "kgf", "force_lbf": "lbf", "force_counts": "counts"}
_GYRO_UNITS = {"rad_s": "rad/s", "deg_s": "deg/s"}
_ACCEL_UNITS = {"m_s2": "m/s2", "g": "g"}
_TIMES = {"time_s": ("device_time", "s"), "host_time_s": ("host_time", "s")}

KNOWN_COLUMNS = frozenset(
    {
        *_TIMES,
        *_FORCE_UNITS,
        *(f"{axis}_{suffix}" for axis in AXES["gyro"] for suffix in _GYRO_UNITS),
        *(f"{axis}_{suffix}" for axis in AXES["accel"] for suffix in _ACCEL_UNITS),
    }
)
"""Names of columns that mean something."""

_SPELLINGS = {
    "s": {"s", "sec", "second", "seconds"},
    "N": {"n", "newton", "newtons"},
    "kgf": {"kgf", "kp"},
    "lbf": {"lbf"},
    "counts": {"counts", "count", "raw", "lsb"},
    "rad/s": {"rad/s", "rad s-1", "rad·s⁻¹"},
    "deg/s": {"deg/s", "°/s", "dps"},
    "m/s2": {"m/s2", "m/s^2", "m/s²", "m s-2", "m·s⁻²"},
    "g": {"g"},
}


def csv_fields(
    ours: Sequence[str], theirs: Sequence[str], kind: str, path: Path
) -> tuple[FieldDescription, ...]:
    """One field per column; columns that are not used are read past.

    Parameters
    ----------
    ours, theirs : sequences of str
        Names of the columns: by this program's names where they were mapped, and as in the file.
    kind : {"force", "inertial"}
    path : Path
        For messages.

    Raises
    ------
    InputError
        A column is missing, or one quantity is there in two units.
    """
    meaning = dict(_TIMES)
    if kind == "force":
        force_columns = [name for name in _FORCE_UNITS if name in ours]
        if not force_columns:
            raise _missing("force_n (or force_kgf, force_lbf, force_counts)", theirs, path)
        if len(force_columns) > 1:
            raise InputError(
                f"mixed units: {' and '.join(force_columns)}", where=str(path), remedy="keep one of them"
            )
        meaning[force_columns[0]] = ("force", _FORCE_UNITS[force_columns[0]])
    else:
        meaning |= _axes(ours, theirs, "gyro", _GYRO_UNITS, path)
        meaning |= _axes(ours, theirs, "accel", _ACCEL_UNITS, path)
    fields = []
    for number, name in enumerate(ours):
        if name in meaning:
            fields.append(FieldDescription(name=meaning[name][0], type="number", unit=meaning[name][1]))
        else:
            fields.append(FieldDescription(name=f"column_{number + 1}", type="text"))
    return tuple(fields)


def require_units(
    units: Sequence[str], fields: Sequence[FieldDescription], theirs: Sequence[str], path: Path, line: int
) -> None:
    """Compare a row of units with those that the columns' names state.

    Raises
    ------
    InputError
        Names the column whose unit is another one, or no unit.
    """
    for cell, item, name in zip(units, fields, theirs, strict=False):
        if item.type != "number":
            continue
        written = cell.strip("[]() ")
        # Only N and g differ by case from anything else, and neither from another unit here.
        if written.casefold() in _SPELLINGS[item.unit]:
            continue
        others = [unit for unit, spellings in _SPELLINGS.items() if written.casefold() in spellings]
        difference = f"is in {others[0]}" if others else f'has the unit "{written}"'
        raise InputError(
            f"{difference}, where {item.unit} is expected",
            where=f"{path}: line {line}, column {name}",
            remedy=_unit_remedy(item, others),
        )


def _unit_remedy(item: FieldDescription, others: list[str]) -> str:
    if item.quantity == "time":
        return "give times in seconds (milliseconds divided by 1000)"
    if others:
        return "name the column by its unit, such as force_kgf or gyro_x_deg_s"
    return "convert the numbers, or correct the row of units"


def _axes(
    ours: Sequence[str], theirs: Sequence[str], quantity: str, units: dict[str, str], path: Path
) -> dict[str, tuple[str, str]]:
    used = {suffix: [f"{axis}_{suffix}" in ours for axis in AXES[quantity]] for suffix in units}
    some = [suffix for suffix, there in used.items() if any(there)]
    if len(some) > 1:
        raise InputError(
            f"mixed units: {quantity} in {' and '.join(units[suffix] for suffix in some)}",
            where=str(path),
            remedy="give all three axes in one unit",
        )
    suffix = some[0] if some else next(iter(units))
    for axis, there in zip(AXES[quantity], used[suffix], strict=True):
        if not there:
            raise _missing(f"{axis}_{suffix}", theirs, path)
    return {f"{axis}_{suffix}": (axis, units[suffix]) for axis in AXES[quantity]}


def _missing(name: str, theirs: Sequence[str], path: Path) -> InputError:
    return InputError(f"no column {name}; it has {', '.join(theirs)}", where=str(path), remedy=MAP_REMEDY)
