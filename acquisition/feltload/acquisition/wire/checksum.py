"""Cyclic redundancy checks by their catalogue name, over one frame or many at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from feltload.acquisition.errors import DescriptionError
from feltload.core import Bytes

__all__ = ["CRC_NAMES", "Crc", "crc_by_name"]


@dataclass(frozen=True)
class Crc:
    """A cyclic redundancy check in the parameters of the public CRC catalogue.

    Parameters
    ----------
    name : str
        Catalogue name, such as "CRC-16/IBM-3740".
    width : int
        Register width in bits: 8, 16 or 32.
    poly, init, xorout : int
        Generator (without its top bit), start value, final exclusive-or.
    reflected : bool
        Whether input bytes and the final register are reflected ("refin" and "refout", which are
        equal in every entry listed here).

    References
    ----------
    Catalogue of parametrised CRC algorithms, G. Cook; R. N. Williams (1993), "A painless guide to
    CRC error detection algorithms".
    """

    name: str
    width: int
    poly: int
    init: int
    reflected: bool
    xorout: int

    @property
    def size(self) -> int:
        """Bytes that the check value takes on the wire."""
        return self.width // 8

    def of(self, data: bytes) -> int:
        """Check value of one byte string."""
        table = _byte_table(self).tolist()
        mask = (1 << self.width) - 1
        register = _reflect(self.init, self.width) if self.reflected else self.init
        top = self.width - 8
        for byte in data:
            if self.reflected:
                register = table[(register ^ byte) & 0xFF] ^ (register >> 8)
            else:
                register = table[((register >> top) ^ byte) & 0xFF] ^ ((register << 8) & mask)
        return int(register) ^ self.xorout

    def of_columns(self, columns: Bytes) -> NDArray[np.unsignedinteger]:
        """Check values of many frames of one length.

        Parameters
        ----------
        columns : uint8 array, shape (length, n)
            Byte k of frame i at ``columns[k, i]``.

        Returns
        -------
        unsigned array, shape (n,)

        Notes
        -----
        A CRC is linear over GF(2): the value is that of an all-zero frame, exclusive-or one table
        entry per byte position. That needs no loop over frames.
        """
        length, count = columns.shape
        tables = _position_tables(self, length)
        out = np.full(count, self.of(bytes(length)), dtype=tables.dtype)
        for position in range(length):
            out ^= tables[position].take(columns[position])
        return out


def _reflect(value: int, width: int) -> int:
    return int(f"{value:0{width}b}"[::-1], 2)


@lru_cache(maxsize=32)
def _byte_table(crc: Crc) -> NDArray[np.unsignedinteger]:
    """Register change caused by each value of a byte, shape (256,)."""
    mask = (1 << crc.width) - 1
    poly = _reflect(crc.poly, crc.width) if crc.reflected else crc.poly
    table = []
    for byte in range(256):
        register = byte if crc.reflected else byte << (crc.width - 8)
        for _ in range(8):
            if crc.reflected:
                register = (register >> 1) ^ (poly if register & 1 else 0)
            else:
                register = ((register << 1) & mask) ^ (poly if register >> (crc.width - 1) else 0)
        table.append(register)
    return np.array(table, dtype=f"u{crc.size}")


@lru_cache(maxsize=64)
def _position_tables(crc: Crc, length: int) -> NDArray[np.unsignedinteger]:
    """Register at the end of a frame caused by each byte at each position, shape (length, 256)."""
    step = _byte_table(crc).astype(np.uint64)
    tables = np.empty((length, 256), dtype=np.uint64)
    current = step
    for position in range(length - 1, -1, -1):
        tables[position] = current
        if crc.reflected:
            current = step[current & np.uint64(0xFF)] ^ (current >> np.uint64(8))
        else:
            mask = np.uint64((1 << crc.width) - 1)
            top = np.uint64(crc.width - 8)
            current = step[current >> top] ^ ((current << np.uint64(8)) & mask)
    return tables.astype(f"u{crc.size}")


_CATALOGUE = {
    crc.name: crc
    for crc in (
        Crc("CRC-8/SMBUS", 8, 0x07, 0x00, False, 0x00),
        Crc("CRC-8/MAXIM-DOW", 8, 0x31, 0x00, True, 0x00),
        Crc("CRC-16/ARC", 16, 0x8005, 0x0000, True, 0x0000),
        Crc("CRC-16/MODBUS", 16, 0x8005, 0xFFFF, True, 0x0000),
        Crc("CRC-16/USB", 16, 0x8005, 0xFFFF, True, 0xFFFF),
        Crc("CRC-16/IBM-3740", 16, 0x1021, 0xFFFF, False, 0x0000),
        Crc("CRC-16/XMODEM", 16, 0x1021, 0x0000, False, 0x0000),
        Crc("CRC-16/KERMIT", 16, 0x1021, 0x0000, True, 0x0000),
        Crc("CRC-16/SPI-FUJITSU", 16, 0x1021, 0x1D0F, False, 0x0000),
        Crc("CRC-16/IBM-SDLC", 16, 0x1021, 0xFFFF, True, 0xFFFF),
        Crc("CRC-16/GENIBUS", 16, 0x1021, 0xFFFF, False, 0xFFFF),
        Crc("CRC-16/MCRF4XX", 16, 0x1021, 0xFFFF, True, 0x0000),
        Crc("CRC-32/ISO-HDLC", 32, 0x04C11DB7, 0xFFFFFFFF, True, 0xFFFFFFFF),
        Crc("CRC-32/ISCSI", 32, 0x1EDC6F41, 0xFFFFFFFF, True, 0xFFFFFFFF),
    )
}

CRC_NAMES: tuple[str, ...] = tuple(_CATALOGUE)
"""Names that `crc_by_name` knows."""


def crc_by_name(name: str) -> Crc:
    """Return the check of a catalogue name.

    Raises
    ------
    DescriptionError
        If the name is not one of `CRC_NAMES`.
    """
    try:
        return _CATALOGUE[name]
    except KeyError:
        raise DescriptionError(
            f'unknown checksum "{name}"', where="checksum", remedy=f"use one of {', '.join(CRC_NAMES)}"
        ) from None
