"""Cyclic redundancy checks of any width and polynomial, over one frame or many at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from feltload.acquisition.wire.checks.check import low_byte_first
from feltload.core import Bytes

__all__ = ["Crc"]

_LIMB = 64
"""Bits that one numpy number holds; the widest check of the catalogue has 82."""


@dataclass(frozen=True)
class Crc:
    """A cyclic redundancy check in the parameters of the public CRC catalogue.

    Parameters
    ----------
    name : str
        Catalogue name, such as "CRC-16/IBM-3740", or what a person calls it.
    width : int
        Register width in bits.
    poly, init, xorout : int
        Generator (without its top bit), start value, final exclusive-or.
    refin, refout : bool
        Whether the bits of each byte, and those of the final register, are reflected.

    References
    ----------
    Catalogue of parametrised CRC algorithms, G. Cook; R. N. Williams (1993), "A painless guide to
    CRC error detection algorithms".
    """

    name: str
    width: int
    poly: int
    init: int
    refin: bool
    refout: bool
    xorout: int

    @property
    def size(self) -> int:
        """Bytes that the check value takes on the wire."""
        return (self.width + 7) // 8

    def of(self, data: bytes) -> int:
        """Check value of one byte string, bit by bit."""
        register = self.init
        for byte in data:
            for bit in range(8):
                register = self.step(register, byte >> (bit if self.refin else 7 - bit) & 1)
        return self.final(register) ^ self.xorout

    def of_columns(self, columns: Bytes) -> Bytes:
        """Check values of many frames of one length.

        Parameters
        ----------
        columns : uint8 array, shape (length, n)
            Byte k of frame i at ``columns[k, i]``.

        Returns
        -------
        uint8 array, shape (size, n)
            Low byte first.

        Notes
        -----
        A CRC is linear over GF(2): the value is that of an all-zero frame, exclusive-or one table
        entry per byte position. That needs no loop over frames.
        """
        length, count = columns.shape
        contributions = _contributions(self)
        contributions.reach(length)
        start = contributions.of_zeros[length]
        parts = []
        for limb, tables in enumerate(contributions.tables):
            own = start >> (_LIMB * limb) & ((1 << 8 * tables.itemsize) - 1)
            out = np.full(count, own, dtype=tables.dtype)
            for position in range(length):
                out ^= tables[length - 1 - position].take(columns[position])
            parts.append(low_byte_first(out))
        return np.concatenate(parts)[: self.size] if len(parts) > 1 else parts[0][: self.size]

    def step(self, register: int, bit: int) -> int:
        """Register after one more bit of the message."""
        out = register >> (self.width - 1) ^ bit
        register = register << 1 & ((1 << self.width) - 1)
        return register ^ self.poly if out else register

    def final(self, register: int) -> int:
        """Register as it leaves, before the exclusive-or."""
        return int(f"{register:0{self.width}b}"[::-1], 2) if self.refout else register


class _Contributions:
    """What each value of a byte adds to the check value, by the number of bytes that follow it; grown as needed.

    Attributes
    ----------
    tables : list of arrays, shape (bytes that follow, 256)
        An array for each limb of the value.
    of_zeros : list of int
        Value of a frame of zero bytes, by its length.
    """

    def __init__(self, crc: Crc) -> None:
        self._crc = crc
        self._item = next(width for width in (1, 2, 4, 8) if width >= min(crc.size, 8))
        limbs = -(-crc.width // _LIMB)
        self.tables = [np.zeros((0, 256), dtype=f"u{self._item}") for _ in range(limbs)]
        self._zeros = crc.init
        self.of_zeros = [crc.final(crc.init) ^ crc.xorout]
        # Registers that a single bit leaves behind, by the bit's place in the byte.
        self._single = [self._zero_bits(crc.step(0, 1), 7 - bit if crc.refin else bit) for bit in range(8)]

    def reach(self, length: int) -> None:
        """Grow for frames of `length` bytes."""
        have = self.tables[0].shape[0]
        if length <= have:
            return
        wanted = max(length, 2 * have, 32)
        more = [np.zeros((wanted - have, 256), dtype=table.dtype) for table in self.tables]
        for row in range(wanted - have):
            for bit, register in enumerate(self._single):
                value = self._crc.final(register)
                for limb, table in enumerate(more):
                    part = table.dtype.type(value >> (_LIMB * limb) & ((1 << 8 * self._item) - 1))
                    # Every value of the byte with this bit set is one without it, and the bit.
                    table[row, 1 << bit : 2 << bit] = table[row, : 1 << bit] ^ part
            self._single = [self._zero_bits(register, 8) for register in self._single]
            self._zeros = self._zero_bits(self._zeros, 8)
            self.of_zeros.append(self._crc.final(self._zeros) ^ self._crc.xorout)
        self.tables = [np.concatenate(pair) for pair in zip(self.tables, more, strict=True)]

    def _zero_bits(self, register: int, count: int) -> int:
        for _ in range(count):
            register = self._crc.step(register, 0)
        return register


@lru_cache(maxsize=64)
def _contributions(crc: Crc) -> _Contributions:
    return _Contributions(crc)
