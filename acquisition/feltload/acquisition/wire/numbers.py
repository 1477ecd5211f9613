"""Numbers of many frames at once, from their bytes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feltload.acquisition.wire.descriptions.fields import FieldDescription
from feltload.core import Bytes

__all__ = ["assemble_integers", "wire_numbers"]


def wire_numbers(payload: Bytes, offset: int, item: FieldDescription) -> NDArray[np.number]:
    """Numbers of a field as they are on the wire, shape (n,)."""
    kind = item.type[0]
    if kind == "f":
        raw = assemble_integers(payload, offset, item.size, signed=False, big_endian=item.big_endian)
        return raw.view(f"f{item.size}")
    whole = assemble_integers(payload, offset, item.size, signed=kind == "i", big_endian=item.big_endian)
    return whole if item.bits is None else _part(whole, item.bits)


def _part(whole: NDArray[np.integer], bits: tuple[int, int]) -> NDArray[np.integer]:
    """Some bits of numbers: moved to the top, then down again, which carries the sign of a signed one along."""
    low, count = bits
    width = 8 * whole.dtype.itemsize
    return (whole << whole.dtype.type(width - low - count)) >> whole.dtype.type(width - count)


def assemble_integers(
    payload: Bytes, offset: int, size: int, *, signed: bool, big_endian: bool
) -> NDArray[np.integer]:
    """Whole numbers from `size` bytes each, starting at byte `offset` of every frame."""
    width = 4 if size == 3 else size
    # A 24-bit number sits in the upper bytes, so that the shift below carries its sign along.
    lead = width - size
    buffer = np.zeros((payload.shape[1], width), dtype=np.uint8)
    for k in range(size):
        source = size - 1 - k if big_endian else k
        buffer[:, lead + k] = payload[offset + source]
    values = buffer.view(f"<{'i' if signed else 'u'}{width}").ravel()
    return values >> (8 * lead) if lead else values
