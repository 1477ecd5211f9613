"""COBS frames: the stuffing undone, many frames at once."""

from __future__ import annotations

import numpy as np
from cobs import cobs

from feltload.core import Bytes, Flags

__all__ = ["cobs_columns"]

COBS_BLOCK = 254
"""Longest run of a COBS block without an extra code byte (Cheshire & Baker 1999)."""


def cobs_columns(encoded: Bytes) -> tuple[Bytes, Flags]:
    """Undo COBS on many frames of one length.

    Parameters
    ----------
    encoded : uint8 array, shape (length + 1, n)
        Encoded frames without their delimiter.

    Returns
    -------
    payload : uint8 array, shape (length, n)
    sound : bool array, shape (n,)
        The frame's block codes end exactly at its end.

    References
    ----------
    S. Cheshire, M. Baker (1999), "Consistent overhead byte stuffing", IEEE/ACM Transactions on
    Networking 7(2):159-172.
    """
    length, count = encoded.shape
    if length > COBS_BLOCK + 1:
        return _long_cobs(encoded)
    payload = np.empty((length - 1, count), dtype=np.uint8)
    left = np.zeros(count, dtype=np.uint8)
    for position in range(length):
        column = encoded[position]
        # All ones where a block begins: there the byte is a code and stands for a zero.
        code = np.negative((left == 0).view(np.uint8))
        if position:
            np.bitwise_and(column, ~code, out=payload[position - 1])
        left += column & code
        left -= np.uint8(1)
    return payload, left == 0


def _long_cobs(encoded: Bytes) -> tuple[Bytes, Flags]:
    """Frames with blocks of 254: one by one; those whose payload is not the commonest length fail."""
    decoded: list[bytes] = []
    for frame in encoded.T:
        try:
            decoded.append(cobs.decode(frame.tobytes()))
        except cobs.DecodeError:
            decoded.append(b"")
    sizes = np.array([len(payload) for payload in decoded], dtype=np.int64)
    size = int(np.bincount(sizes).argmax()) if sizes.size else 0
    sound = sizes == size if size else np.zeros(sizes.size, dtype=bool)
    payload = np.zeros((size, sizes.size), dtype=np.uint8)
    for index in np.flatnonzero(sound):
        payload[:, index] = np.frombuffer(decoded[index], dtype=np.uint8)
    return payload, sound
