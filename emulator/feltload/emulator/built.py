"""A lever as a shop builds it from a machine file: every dimension a little off, as far as the file says it may be."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.random import Generator

from feltload.core import Dimension, InputError, parse_quantity
from feltload.emulator.machines.dynamics import Lever, LeverMass
from feltload.emulator.machines.friction import Friction

_FRICTION: Final = Friction(4.0, 0.10)
"""Of two good bearings under a loaded lever (invented)."""


def built_lever(text: str, *, travel_rad: float, seed: int) -> Lever:
    """The lever of a machine file with dimensions drawn at their standard uncertainties.

    Parameters
    ----------
    text : str
        A machine file of a lever that is pulled square to it.
    travel_rad : float
        From the start stop to the end stop.
    seed : int
        Of what the shop did.

    Raises
    ------
    InputError
        It is none, or something of it cannot be read.
    """
    try:
        file = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"is not TOML ({error})", where="machine file") from None
    lever = file.get("lever")
    if file.get("mechanism") != "lever" or not isinstance(lever, Mapping):
        raise InputError(
            "only a lever is built from its machine file",
            where=str(file.get("name", "machine file")),
            remedy='take one with mechanism = "lever"',
        )
    beside = {"pull_angle", "pull_direction"} & set(lever) | {"spring", "band", "chain"} & set(file)
    if beside:
        raise InputError(f"a lever with {sorted(beside)[0]} is not built from its machine file")
    rng = np.random.default_rng(seed)
    return Lever(
        masses=tuple(_mass(row, rng) for row in lever.get("mass", [])),
        handle_radius_m=_drawn(lever, "handle_radius", "length", rng),
        start_angle_rad=_drawn(file, "start_angle", "angle", rng),
        travel_rad=travel_rad,
        hinge_inclination_rad=_drawn(lever, "hinge_inclination", "angle", rng, default=0.0),
        friction=_FRICTION,
    )


def _mass(row: Mapping[str, Any], rng: Generator) -> LeverMass:
    loaded = row.get("mass") == "load"
    mass_kg = None if loaded else _drawn(row, "mass", "mass", rng)
    gyration_m = _drawn(row, "gyration_radius", "length", rng, default=0.0)
    return LeverMass(
        str(row.get("name", "mass")),
        mass_kg,
        _drawn(row, "radius", "length", rng),
        _drawn(row, "angle", "angle", rng),
        (1.0 if mass_kg is None else mass_kg) * gyration_m**2,
    )


def _drawn(
    table: Mapping[str, Any], key: str, dimension: Dimension, rng: Generator, *, default: float | None = None
) -> float:
    if key not in table and default is not None:
        return default
    quantity = parse_quantity(str(table.get(key, "")), dimension, where=key)
    return quantity.value + float(rng.normal(0.0, quantity.u or 0.0))
