"""Frames that leave the board: CRC-16/IBM-3740 at the end, COBS on a cable, plain in a notification."""

import struct

FORCE = 0x46  # "F"
INERTIAL = 0x49  # "I"

SERVICE = "7c3a0001-52d4-4f0e-9a5b-3e6f2d1c8b70"
CHARACTERISTICS = {
    FORCE: "7c3a0002-52d4-4f0e-9a5b-3e6f2d1c8b70",
    INERTIAL: "7c3a0003-52d4-4f0e-9a5b-3e6f2d1c8b70",
}

# What 32768 counts of the inertial sensor mean; its start-up writes must set it so.
GYRO_RANGE_DEG_S = 1000
ACCEL_RANGE_G = 4

_TABLE = []
for _index in range(256):
    _value = _index << 8
    for _ in range(8):
        _value = (_value << 1) ^ 0x1021 if _value & 0x8000 else _value << 1
    _TABLE.append(_value & 0xFFFF)


def crc16(data):
    """CRC-16/IBM-3740: polynomial 0x1021, starts at 0xFFFF, not reflected."""
    value = 0xFFFF
    for byte in data:
        value = ((value << 8) & 0xFFFF) ^ _TABLE[(value >> 8) ^ byte]
    return value


def cobs(data):
    """Consistent overhead byte stuffing: no zero inside, so that a zero can end the frame."""
    out = bytearray(1)
    code_at = 0
    for byte in data:
        if byte:
            out.append(byte)
            if len(out) - code_at == 255:
                out[code_at] = 255
                code_at = len(out)
                out.append(0)
        else:
            out[code_at] = len(out) - code_at
            code_at = len(out)
            out.append(0)
    out[code_at] = len(out) - code_at
    return bytes(out)


def force_record(counts):
    return struct.pack("<i", counts)


def inertial_record(axes):
    """Six raw words: gyroscope x, y, z, accelerometer x, y, z."""
    return struct.pack("<6h", *axes)


def serial_frame(kind, seq, device_us, record):
    """One sample for the cable, with the zero that ends it."""
    payload = struct.pack("<BHI", kind, seq & 0xFFFF, device_us & 0xFFFFFFFF) + record
    return cobs(payload + struct.pack("<H", crc16(payload))) + b"\x00"


def notification(kind, first_seq, first_us, interval_us, records):
    """Several samples for one notification."""
    payload = struct.pack(
        "<BHIBH", kind, first_seq & 0xFFFF, first_us & 0xFFFFFFFF, len(records), interval_us
    ) + b"".join(records)
    return payload + struct.pack("<H", crc16(payload))


def records_that_fit(kind, bytes_per_notification):
    """How many samples a notification can carry."""
    size = 4 if kind == FORCE else 12
    return max(1, (bytes_per_notification - 12) // size)
