"""The check value of frames, found by trial: any CRC by common divisors, sums one by one.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.acquisition.wire.checks.crc import Crc
from feltload.acquisition.wire.checks.named import catalogue
from feltload.acquisition.wire.checks.sums import SUMS
from feltload.acquisition.wire.descriptions.checksum import Checksum
from feltload.acquisition.wire.frame_layout import checksum_holds
from feltload.core import Bytes

__all__ = ["FoundCheck", "find_check"]

LEAST_FRAMES = 12
"""Fewer frames may pass a short check by chance."""

PASSES = 0.9
"""Share of frames that pass the right check; the others are damaged."""

_DRAWS, _DRAWN = 4, 6
_WIDTHS = (64, 32, 24, 16, 8)


@dataclass(frozen=True)
class FoundCheck:
    """A check value that frames end in.

    Parameters
    ----------
    checksum : Checksum
    behind : int
        Bytes of the frame after it.
    passed : float
        Share of the frames that pass it.
    """

    checksum: Checksum
    behind: int
    passed: float


def find_check(
    frames: Bytes, *, most_behind: int = 2, most_skipped: int = 4, seed: int = 0
) -> FoundCheck | None:
    """Find the check value of frames of one length.

    Parameters
    ----------
    frames : uint8 array, shape (length, n)
        Frames, each a column; some may be damaged.
    most_behind : int
        Bytes that may follow the value; they are then the same in all frames.
    most_skipped : int
        Bytes at the beginning that it may leave out.
    seed : int

    Notes
    -----
    The exclusive-or of two frames, read as a polynomial over GF(2), is a multiple of the CRC's generator
    whatever its start value and final exclusive-or are; the greatest common divisor of a few is the generator.
    Draws of a few frames each get past damaged ones.
    """
    frames = frames[:, :400]
    if frames.shape[1] < LEAST_FRAMES:
        return None
    for behind in range(min(most_behind, frames.shape[0] - 3) + 1):
        part = frames[: frames.shape[0] - behind]
        if behind and np.any(frames[-behind:] != frames[-behind:, :1]):
            break
        found = _find_crc(part, most_skipped, seed) or _find_sum(part, most_skipped)
        if found is not None:
            checksum, passed = found
            return FoundCheck(checksum, behind, passed)
    return None


def _find_crc(frames: Bytes, most_skipped: int, seed: int) -> tuple[Checksum, float] | None:
    rng = np.random.default_rng(seed)
    for width in _WIDTHS:
        size = width // 8
        if frames.shape[0] < size + 2 or len({bytes(end) for end in frames[-size:].T[:60].tolist()}) < 6:
            continue
        for swapped in (False, True) if size > 1 else (False,):
            for reflected in (False, True):
                poly = _generator(frames, size, reflected=reflected, swapped=swapped, rng=rng)
                if poly is None:
                    continue
                # The value of a reflected CRC goes out low byte first, unless swapped.
                big_endian = swapped if reflected else not swapped
                found = _named(frames, width, poly, reflected, big_endian, most_skipped)
                if found is not None:
                    return found
    return None


def _generator(
    frames: Bytes, size: int, *, reflected: bool, swapped: bool, rng: np.random.Generator
) -> int | None:
    """Generator polynomial without its top bit, None where frames have none of this size."""
    for _ in range(_DRAWS):
        chosen = frames[:, rng.choice(frames.shape[1], _DRAWN, replace=False)]
        numbers = [_as_polynomial(column, size, reflected, swapped) for column in chosen.T]
        divisor = 0
        for number in numbers[1:]:
            divisor = _common_divisor(divisor, number ^ numbers[0])
        # A generator of two terms is an exclusive-or of bytes, which the sums have.
        if divisor.bit_length() == 8 * size + 1 and divisor & 1 and divisor.bit_count() > 2:
            return divisor ^ (1 << 8 * size)
    return None


def _as_polynomial(frame: Bytes, size: int, reflected: bool, swapped: bool) -> int:
    data = frame.tobytes()
    if swapped:
        data = data[:-size] + data[-size:][::-1]
    if reflected:
        bits = np.unpackbits(np.frombuffer(data, dtype=np.uint8), bitorder="little")
        return int.from_bytes(np.packbits(bits).tobytes(), "big")
    return int.from_bytes(data, "big")


def _common_divisor(one: int, other: int) -> int:
    while other:
        shift = one.bit_length() - other.bit_length()
        if shift < 0:
            one, other = other, one
        else:
            one ^= other << shift
            if not one:
                return other
    return one


def _named(
    frames: Bytes, width: int, poly: int, reflected: bool, big_endian: bool, most_skipped: int
) -> tuple[Checksum, float] | None:
    """The catalogue's name of a CRC, or its parameters where the catalogue has none."""
    known = {
        crc.name: crc
        for crc in catalogue().values()
        if (crc.width, crc.poly, crc.refin, crc.refout) == (width, poly, reflected, reflected)
    }
    for skip in range(most_skipped + 1):
        for name in known:
            checksum = Checksum(name=name, big_endian=big_endian, skip=skip)
            if (passed := _passes(frames, checksum)) >= PASSES:
                return checksum, passed
    # Of frames of one length start value and final exclusive-or are one constant.
    bare = Crc("", width, poly, 0, reflected, reflected, 0)
    size = width // 8
    sent = frames[-size:] if not big_endian else frames[: -size - 1 : -1]
    values = sent ^ bare.of_columns(frames[:-size])
    rows, counts = np.unique(values.T, axis=0, return_counts=True)
    xorout = int.from_bytes(rows[counts.argmax()].tobytes(), "little")
    checksum = Checksum(
        width=width, poly=poly, refin=reflected, refout=reflected, xorout=xorout, big_endian=big_endian
    )
    passed = _passes(frames, checksum)
    return (checksum, passed) if passed >= PASSES else None


def _find_sum(frames: Bytes, most_skipped: int) -> tuple[Checksum, float] | None:
    for name, check in sorted(SUMS.items(), key=lambda item: -item[1].size):
        if frames.shape[0] < check.size + 2 or np.all(frames[-check.size :] == frames[-check.size :, :1]):
            continue
        for skip in range(min(most_skipped, frames.shape[0] - check.size - 1) + 1):
            for big_endian in (False, True) if check.size > 1 else (False,):
                checksum = Checksum(name=name, big_endian=big_endian, skip=skip)
                if (passed := _passes(frames, checksum)) >= PASSES:
                    return checksum, passed
    return None


def _passes(frames: Bytes, checksum: Checksum) -> float:
    return float(checksum_holds(frames, checksum).mean())
