"""Sums of bytes as check values: plain, exclusive-or, Fletcher's, Adler's; over one frame or many at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from feltload.acquisition.wire.checks.check import low_byte_first
from feltload.core import Bytes

__all__ = ["SUMS", "Sum"]

Totals = NDArray[np.uint64]
_TYPES: Final = {1: np.uint8, 2: np.uint16, 4: np.uint32}


@dataclass(frozen=True)
class Sum:
    """A check value that is a sum.

    Parameters
    ----------
    name : str
    size : int
        Bytes that it takes on the wire.
    total : callable
        Bytes of many frames, shape (length, n), to their sums, shape (n,).
    """

    name: str
    size: int
    total: Callable[[Bytes], Totals] = field(repr=False)

    def of(self, data: bytes) -> int:
        """Check value of one byte string."""
        return int(self.total(np.frombuffer(data, dtype=np.uint8)[:, None])[0])

    def of_columns(self, columns: Bytes) -> Bytes:
        """Check values of many frames of one length; low byte first, shape (size, n)."""
        return low_byte_first(self.total(columns).astype(_TYPES[self.size]))


def _plain(size: int, *, negate: bool = False, invert: bool = False) -> Callable[[Bytes], Totals]:
    whole = np.uint64((1 << 8 * size) - 1)

    def total(columns: Bytes) -> Totals:
        value: Totals = columns.sum(axis=0, dtype=np.uint64) & whole
        if negate or invert:
            value ^= whole
        return (value + np.uint64(negate)) & whole

    return total


def _exclusive_or(columns: Bytes) -> Totals:
    return np.asarray(np.bitwise_xor.reduce(columns, axis=0).astype(np.uint64))


def _words(columns: Bytes) -> NDArray[np.uint64]:
    """Numbers of 16 bits, low byte first, a last odd byte alone; shape (words, n)."""
    low = columns[0::2].astype(np.uint64)
    low[: columns.shape[0] // 2] |= columns[1::2].astype(np.uint64) << np.uint64(8)
    return low


def _running(modulus: int, shift: int, *, start: int = 0, words: bool = False) -> Callable[[Bytes], Totals]:
    """Sum, and sum of the running sums above it, as Fletcher and Adler have it."""
    limit, up = np.uint64(modulus), np.uint64(shift)

    def total(columns: Bytes) -> Totals:
        items = _words(columns) if words else columns
        low = np.full(columns.shape[1], start, dtype=np.uint64)
        high = np.zeros(columns.shape[1], dtype=np.uint64)
        # No remainder within a frame: 64 bits hold the sums of millions of words.
        for item in items:
            low += item
            high += low
        return (high % limit) << up | low % limit

    return total


SUMS: Final[dict[str, Sum]] = {
    item.name: item
    for item in (
        Sum("SUM-8", 1, _plain(1)),
        Sum("SUM-8/INVERTED", 1, _plain(1, invert=True)),
        Sum("SUM-8/NEGATED", 1, _plain(1, negate=True)),
        Sum("SUM-16", 2, _plain(2)),
        Sum("SUM-16/INVERTED", 2, _plain(2, invert=True)),
        Sum("SUM-16/NEGATED", 2, _plain(2, negate=True)),
        Sum("XOR-8", 1, _exclusive_or),
        Sum("FLETCHER-16", 2, _running(255, 8)),
        Sum("FLETCHER-16/MOD-256", 2, _running(256, 8)),
        Sum("FLETCHER-32", 4, _running(65535, 16, words=True)),
        Sum("ADLER-32", 4, _running(65521, 16, start=1)),
    )
}
"""By name. "NEGATED" makes all bytes, the check included, add up to 0; "MOD-256" is the 8-bit sum of RFC 1145."""
