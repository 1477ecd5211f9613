"""Boards whose protocols nobody described: frames of a cell that is pulled and of a sensor that is tilted.

Packed with the standard library and the `anycrc` package, apart from the decoder.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce
from operator import xor

import anycrc
import numpy as np

RATE_HZ = 100.0


@dataclass(frozen=True)
class Motion:
    """What the sensors feel, sampled evenly."""

    force_n: np.ndarray
    gyro_deg_s: np.ndarray
    accel_g: np.ndarray


def motion(count: int, rate_hz: float = RATE_HZ, seed: int = 0) -> Motion:
    """A second of rest, then a pull and a tilt to and fro."""
    rng = np.random.default_rng(seed)
    t = np.arange(count) / rate_hz
    swing = 0.6 * np.sin(2 * np.pi * 0.4 * np.maximum(t - 1.0, 0.0))
    rate = np.gradient(swing, 1.0 / rate_hz)
    gyro = np.stack([0.3 + 0 * t, -np.degrees(rate), -0.2 + 0 * t]) + rng.normal(0, 0.1, (3, count))
    accel = np.stack([np.sin(swing), 0.02 + 0 * t, np.cos(swing)]) + rng.normal(0, 0.002, (3, count))
    force = 180.0 + 150.0 * swing + rng.normal(0, 0.3, count)
    return Motion(force, gyro, accel)


def sum_8(data: bytes) -> bytes:
    return bytes([sum(data) & 0xFF])


def xor_8(data: bytes) -> bytes:
    return bytes([reduce(xor, data, 0)])


def crc(model: str, size: int, order: str = "little") -> Callable[[bytes], bytes]:
    made = anycrc.Model(model)
    return lambda data: int(made.calc(data)).to_bytes(size, order)


def slip(payload: bytes) -> bytes:
    return payload.replace(b"\xdb", b"\xdb\xdd").replace(b"\xc0", b"\xdb\xdc") + b"\xc0"


def arrivals(
    frames: list[bytes], rate_hz: float = RATE_HZ, *, each: int = 4, damage: float = 0.0, seed: int = 1
) -> list[tuple[int, bytes]]:
    """Messages of a few frames each, stamped up to 2 ms late; a share of the frames lacks its last byte."""
    rng = np.random.default_rng(seed)
    cut = rng.random(len(frames)) < damage
    sent = [frame[:-1] if bad else frame for frame, bad in zip(frames, cut, strict=True)]
    return [
        (int((k + each) / rate_hz * 1e9 + rng.integers(0, 2_000_000)), b"".join(sent[k : k + each]))
        for k in range(0, len(sent), each)
    ]


def words(values: np.ndarray, per_unit: float) -> list[list[int]]:
    """Readings in counts, a list per sample."""
    return np.round(np.asarray(values) * per_unit).astype(int).T.tolist()
