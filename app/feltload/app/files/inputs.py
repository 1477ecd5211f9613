"""Files that a person names on the command line, read and checked before anything else happens."""

from __future__ import annotations

from pathlib import Path

from feltload.calibration import Gravity, MachineError, local_gravity, parse_machine
from feltload.core import InputError, Quantity, parse_quantity, read_text


def read_machine_text(path: Path) -> str:
    """Text of a machine file that has been found usable.

    Raises
    ------
    MachineError
        Names the file, the key and the remedy.
    """
    text = read_text(path, MachineError, missing="no such machine file")
    parse_machine(text, str(path))
    return text


HEAVIEST_LOAD_KG = 1000.0
"""No machine that people train on carries more (common practice, no source)."""


def read_load(text: str, option: str) -> Quantity:
    """A mass on a machine, such as "40 kg"; none at all is "0 kg".

    Raises
    ------
    InputError
        It is no mass, or one that no machine carries.
    """
    load = parse_quantity(text, "mass", where=option)
    if not 0.0 <= load.value <= HEAVIEST_LOAD_KG:
        raise InputError(
            f'"{text}" cannot be: a machine carries between 0 and {HEAVIEST_LOAD_KG:g} kg',
            where=option,
            remedy="check the number and its unit",
        )
    return load


def read_force_limit_n(text: str, option: str) -> float:
    """A greatest force allowed, such as "150 N".

    Raises
    ------
    InputError
        It is no force, or not above zero.
    """
    force_n = parse_quantity(text, "force", where=option).value
    if force_n <= 0.0:
        raise InputError(f'"{text}" is no limit of force', where=option, remedy="give a force above 0 N")
    return force_n


def place_gravity(latitude: str | None, height: str | None) -> Gravity | None:
    """Local gravity at the place named on the command line; None if none is named.

    Raises
    ------
    InputError
        If a quantity cannot be read or the place is not on Earth's land.
    """
    if latitude is None and height is None:
        return None
    latitude_rad = None if latitude is None else parse_quantity(latitude, "angle", where="--latitude").value
    height_m = None if height is None else parse_quantity(height, "length", where="--height").value
    return local_gravity(latitude_rad, height_m)
