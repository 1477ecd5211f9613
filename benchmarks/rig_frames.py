"""Frames of the reference firmware whose samples carry a running number, so that a lost one is seen."""

from __future__ import annotations

import binascii
import struct

from cobs import cobs

RATE_HZ = 1000


def frame(kind: str, seq: int, device_us: int, number: int) -> bytes:
    values = struct.pack("<i", number) if kind == "F" else struct.pack("<I8x", number)
    payload = struct.pack("<BHI", ord(kind), seq & 0xFFFF, device_us & 0xFFFFFFFF) + values
    return cobs.encode(payload + struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))) + b"\x00"
