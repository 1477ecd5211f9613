"""Frames of the reference firmware, as a board makes them."""

from __future__ import annotations

import struct
from collections.abc import Sequence

from cobs import cobs

_FORCE, _INERTIAL = 0x46, 0x49


def _table() -> tuple[int, ...]:
    entries = []
    for index in range(256):
        value = index << 8
        for _ in range(8):
            value = ((value << 1) ^ 0x1021) if value & 0x8000 else value << 1
        entries.append(value & 0xFFFF)
    return tuple(entries)


_CRC_TABLE = _table()


def crc16(data: bytes) -> int:
    """CRC-16 with polynomial 0x1021 that starts at 0xFFFF (CRC-16/IBM-3740)."""
    value = 0xFFFF
    for byte in data:
        value = ((value << 8) & 0xFFFF) ^ _CRC_TABLE[(value >> 8) ^ byte]
    return value


def _framed(payload: bytes) -> bytes:
    stuffed: bytes = cobs.encode(payload + struct.pack("<H", crc16(payload)))
    return stuffed + b"\x00"


def force_frame(seq: int, device_us: int, counts: int) -> bytes:
    """One reading of the load cell; sequence number and clock wrap as on the board."""
    return _framed(struct.pack("<BHIi", _FORCE, seq & 0xFFFF, device_us & 0xFFFFFFFF, counts))


def inertial_frame(seq: int, device_us: int, words: Sequence[int]) -> bytes:
    """One reading of the six axes."""
    return _framed(struct.pack("<BHI6h", _INERTIAL, seq & 0xFFFF, device_us & 0xFFFFFFFF, *words))
