"""Faults that an emulated board can be told to have."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.random import Generator

from feltload.core import InputError


@dataclass(frozen=True)
class Faults:
    """Faults of both boards.

    Parameters
    ----------
    corrupt : float
        Share of frames with one byte wrong.
    drop : float
        Share of frames lost, beyond what the transport loses.
    reset : float
        Second at which the force board restarts: its clock and sequence number begin again. 0: never.
    silent : float
        Second from which the inertial board says nothing more, its port still open. 0: never.
    hangup : float
        Second at which the force board is unplugged. 0: never.
    """

    corrupt: float = 0.0
    drop: float = 0.0
    reset: float = 0.0
    silent: float = 0.0
    hangup: float = 0.0


def parse_faults(text: str) -> Faults:
    """Read "corrupt=0.01,reset=12" and the like.

    Raises
    ------
    InputError
        For an unknown fault or a value that is no number.
    """
    known = {item.name for item in fields(Faults)}
    faults = Faults()
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        name, _, value = part.partition("=")
        if name not in known:
            raise InputError(f"no fault {name!r}", where="--faults", remedy=f"use {', '.join(sorted(known))}")
        try:
            number = float(value)
        except ValueError:
            raise InputError(f"{part!r} is not NAME=NUMBER", where="--faults") from None
        if not np.isfinite(number) or number < 0.0 or (name in ("corrupt", "drop") and number > 1.0):
            raise InputError(f"{part!r} is out of range", where="--faults")
        faults = replace(faults, **{name: number})
    return faults


def spoiled(frame: bytes, rng: Generator) -> bytes:
    """The frame with one byte before its delimiter changed."""
    place = int(rng.integers(0, len(frame) - 1))
    other = (frame[place] + int(rng.integers(0, 254))) % 255 + 1
    return frame[:place] + bytes([other]) + frame[place + 1 :]
