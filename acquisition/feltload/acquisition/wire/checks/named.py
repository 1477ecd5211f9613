"""Checks by their names: the public CRC catalogue, as the crccheck package carries it, and sums."""

from __future__ import annotations

from functools import cache

from crccheck.crc import ALLCRCCLASSES

from feltload.acquisition.errors import DescriptionError
from feltload.acquisition.wire.checks.check import Check
from feltload.acquisition.wire.checks.crc import Crc
from feltload.acquisition.wire.checks.sums import SUMS

__all__ = ["catalogue", "check_by_name"]


@cache
def catalogue() -> dict[str, Crc]:
    """Every CRC of the catalogue by each of its names, upper case; the first name of an entry is its own."""
    out: dict[str, Crc] = {}
    for entry in ALLCRCCLASSES:
        # The package has no public way to an entry's names and parameters.
        crc = Crc(
            entry._names[0],
            entry._width,
            entry._poly,
            entry._initvalue,
            entry._reflect_input,
            entry._reflect_output,
            entry._xor_output,
        )
        out.update((name.upper(), crc) for name in entry._names)
    return out


def check_by_name(name: str) -> Check:
    """Return the check of a name: a CRC of the catalogue by any of its names, or a sum.

    Raises
    ------
    DescriptionError
        If there is none of that name.
    """
    key = name.upper()
    found = SUMS.get(key) or catalogue().get(key)
    if found is None:
        raise DescriptionError(
            f'unknown checksum "{name}"',
            where="checksum",
            remedy=f"use a name of the public CRC catalogue, such as CRC-16/IBM-3740 or CRC-16/MODBUS, "
            f"one of {', '.join(SUMS)}, or give width, poly, init, refin, refout and xorout",
        )
    return found
