"""Protocols that an emulated board can speak beside that of the reference firmware: invented, one for each framing."""

from __future__ import annotations

import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import xor
from typing import Final

from feltload.emulator.boards.wire import crc16, force_frame, inertial_frame

__all__ = ["PROTOCOLS", "Protocol", "protocol_names"]

GYRO_DEG_S, ACCEL_G = 1000.0 / 32768.0, 4.0 / 32768.0
"""Of a word of the emulated inertial sensor, as the reference firmware sets its ranges."""


@dataclass(frozen=True)
class Protocol:
    """What a board puts on the wire, and the keys that describe it.

    Parameters
    ----------
    force : callable
        Sequence number, device's microseconds, counts and newtons per count to a frame.
    inertial : callable
        Sequence number, device's microseconds and six words to a frame.
    keys : str
        TOML of a stream, without name, link and fields.
    force_fields, inertial_fields : str
        TOML of the fields.
    scaled : bool
        The force goes out in newtons, not in counts.
    """

    force: Callable[[int, int, int, float], bytes]
    inertial: Callable[[int, int, Sequence[int]], bytes]
    keys: str
    force_fields: str
    inertial_fields: str
    scaled: bool = False


def _axes(
    kind: str, *, order: str = "", scaled: bool = False, start: Sequence[str] = ("gyro", "accel")
) -> str:
    lines = []
    for sensor in start:
        unit, scale = ("deg/s", GYRO_DEG_S) if sensor == "gyro" else ("g", ACCEL_G)
        factor = "" if scaled else f", scale = {scale!r}"
        type_ = f', type = "{kind}"' if kind else ""
        lines += [
            f'    {{ name = "{sensor}_{axis}"{type_}, unit = "{unit}"{factor}{order} }},' for axis in "xyz"
        ]
    return "\n".join(lines)


def _behind_sync(payload: bytes) -> bytes:
    """AA 55, payload, CRC of both with its high byte first."""
    frame = b"\xaa\x55" + payload
    return frame + crc16(frame).to_bytes(2, "big")


def _sync_force(seq: int, device_us: int, counts: int, count_n: float) -> bytes:
    return _behind_sync(struct.pack("<HIiB", seq & 0xFFFF, device_us & 0xFFFFFFFF, counts, 97))


def _sync_inertial(seq: int, device_us: int, words: Sequence[int]) -> bytes:
    return _behind_sync(struct.pack("<HI6h", seq & 0xFFFF, device_us & 0xFFFFFFFF, *words))


def _prefixed(payload: bytes) -> bytes:
    """7E, length of what follows it up to the check, payload, sum without the first byte."""
    body = bytes([len(payload)]) + payload
    return b"\x7e" + body + bytes([-sum(body) & 0xFF])


def _prefixed_force(seq: int, device_us: int, counts: int, count_n: float) -> bytes:
    return _prefixed(
        struct.pack(">BH", seq & 0xFF, device_us // 100 & 0xFFFF) + counts.to_bytes(3, "big", signed=True)
    )


def _prefixed_inertial(seq: int, device_us: int, words: Sequence[int]) -> bytes:
    return _prefixed(struct.pack(">BH6h", seq & 0xFF, device_us // 100 & 0xFFFF, *words[3:], *words[:3]))


def _slip(payload: bytes) -> bytes:
    """SLIP (RFC 1055) with a closing exclusive-or."""
    whole = payload + bytes([reduce(xor, payload, 0)])
    return whole.replace(b"\xdb", b"\xdb\xdd").replace(b"\xc0", b"\xdb\xdc") + b"\xc0"


def _slip_force(seq: int, device_us: int, counts: int, count_n: float) -> bytes:
    return _slip(struct.pack("<If", device_us // 1000 & 0xFFFFFFFF, counts * count_n))


def _slip_inertial(seq: int, device_us: int, words: Sequence[int]) -> bytes:
    values = [word * (GYRO_DEG_S if place < 3 else ACCEL_G) for place, word in enumerate(words)]
    return _slip(struct.pack("<I6f", device_us // 1000 & 0xFFFFFFFF, *values))


def _sentence(text: str) -> bytes:
    """Framed as NMEA 0183 frames a sentence: exclusive-or of what stands between $ and *."""
    return f"${text}*{reduce(xor, text.encode(), 0):02X}\r\n".encode()


def _sentence_force(seq: int, device_us: int, counts: int, count_n: float) -> bytes:
    return _sentence(f"EMF,{device_us // 1000 & 0xFFFFFFFF},{counts * count_n:.2f}")


def _sentence_inertial(seq: int, device_us: int, words: Sequence[int]) -> bytes:
    values = [word * (GYRO_DEG_S if place < 3 else ACCEL_G) for place, word in enumerate(words)]
    return _sentence(f"EMI,{device_us // 1000 & 0xFFFFFFFF}," + ",".join(f"{value:.4f}" for value in values))


_REFERENCE_CHECK = '{ name = "CRC-16/IBM-3740" }'
_COUNTED = '    { name = "seq", type = "u16" },\n    { name = "device_time", type = "u32", unit = "us" },\n'
_PREFIXED = (
    '    { name = "length", type = "u8" },\n    { name = "seq", type = "u8" },\n'
    '    { name = "device_time", type = "u16", unit = "us", scale = 100.0, big_endian = true },\n'
)
_MS = '    { name = "device_time", type = "u32", unit = "ms" },\n'

PROTOCOLS: Final[dict[str, Protocol]] = {
    "reference": Protocol(
        lambda seq, device_us, counts, count_n: force_frame(seq, device_us, counts),
        inertial_frame,
        f'framing = "cobs"\nchecksum = {_REFERENCE_CHECK}',
        '    { name = "frame_kind", type = "u8", equals = 0x46 },\n' + _COUNTED
        + '    { name = "force", type = "i32", FORCE, limits = [-8388608.0, 8388607.0] },',
        '    { name = "frame_kind", type = "u8", equals = 0x49 },\n' + _COUNTED + _axes("i16"),
    ),
    "sync": Protocol(
        _sync_force,
        _sync_inertial,
        'framing = "sync"\nsync = "AA 55"\nchecksum = { name = "CRC-16/CCITT-FALSE", big_endian = true }',
        _COUNTED + '    { name = "force", type = "i32", FORCE },\n    { name = "battery", type = "u8" },',
        _COUNTED + _axes("i16"),
    ),
    "prefixed": Protocol(
        _prefixed_force,
        _prefixed_inertial,
        'framing = "sync"\nsync = "7E"\nlength_adds = 3\nchecksum = { name = "SUM-8/NEGATED", skip = 1 }',
        _PREFIXED + '    { name = "force", type = "i24", FORCE, big_endian = true },',
        _PREFIXED + _axes("i16", order=", big_endian = true", start=("accel", "gyro")),
    ),
    "slip": Protocol(
        _slip_force,
        _slip_inertial,
        'framing = "slip"\nchecksum = { name = "XOR-8" }',
        _MS + '    { name = "force", type = "f32", FORCE },',
        _MS + _axes("f32", scaled=True),
        scaled=True,
    ),
    "sentences": Protocol(
        _sentence_force,
        _sentence_inertial,
        'framing = "lines"\nprefix = "$"\nchecksum = { name = "XOR-8" }',
        '    { name = "tag", type = "text", equals = "EMF" },\n'
        '    { name = "device_time", unit = "ms", wrap = 4294967296 },\n    { name = "force", FORCE },',
        '    { name = "tag", type = "text", equals = "EMI" },\n'
        '    { name = "device_time", unit = "ms", wrap = 4294967296 },\n' + _axes("", scaled=True),
        scaled=True,
    ),
}  # fmt: skip
"""By name."""


def protocol_names() -> tuple[str, ...]:
    """Names of the protocols."""
    return tuple(PROTOCOLS)
