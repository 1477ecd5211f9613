"""What every check value of a frame or a line is."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from feltload.core import Bytes

__all__ = ["Check", "low_byte_first"]


class Check(Protocol):
    """A check value: a number that the sender makes of the bytes before it."""

    @property
    def name(self) -> str:
        """Name of the check, as a description gives it."""

    @property
    def size(self) -> int:
        """Bytes that the value takes on the wire."""

    def of(self, data: bytes) -> int:
        """Value of one byte string."""

    def of_columns(self, columns: Bytes) -> Bytes:
        """Values of many frames of one length, each a column; low byte first, shape (size, n)."""


def low_byte_first(values: NDArray[np.unsignedinteger]) -> Bytes:
    """Bytes of numbers, shape (bytes of a number, n)."""
    little = np.ascontiguousarray(values).astype(values.dtype.newbyteorder("<"), copy=False)
    return little.view(np.uint8).reshape(values.size, values.dtype.itemsize).T
