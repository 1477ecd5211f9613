"""Fields of frames of one length: where one ends and the next begins, by how little they change.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from feltload.acquisition.wire.numbers import assemble_integers
from feltload.core import Bytes, Floats

__all__ = ["Column", "split_columns"]

_OVERHEAD_BITS = {1: 1.0, 2: 1.0, 4: 1.0, 3: 1.6}
"""What a field costs by itself: neighbouring bytes are one field unless that explains them worse."""

_WORST_SHARE = 0.2
"""Weight of the largest change: a counter of one byte must not swallow a constant next to it."""

_PACE_SHARE = 0.1
"""Weight of the size of even steps."""

_LIKENESS_BITS = 3.0
"""What a field like its neighbour may cost more than its bytes in other pieces."""


@dataclass(frozen=True, eq=False)
class Column:
    """A field and its values in all frames.

    Parameters
    ----------
    offset, size : int
        Place in the frame, in bytes.
    type : str
        As in a description: u8 i16 u32 f32 ...
    big_endian : bool
    values, counts : float array, shape (n,)
        As a reading, and as an unsigned number.
    """

    offset: int
    size: int
    type: str
    big_endian: bool
    values: Floats
    counts: Floats

    @property
    def constant(self) -> bool:
        """Every frame has the same value."""
        return bool(np.all(self.values == self.values[0]))


def split_columns(frames: Bytes, start: int, stop: int) -> list[Column]:
    """Split the bytes from `start` to `stop` of frames into fields, all of one byte order.

    Parameters
    ----------
    frames : uint8 array, shape (length, n)
    """
    best: tuple[float, list[tuple[int, int]], bool] | None = None
    for big_endian in (False, True):
        cost, parts = _cheapest(frames, start, stop, big_endian)
        if best is None or cost < best[0] - 1e-9:
            best = (cost, parts, big_endian)
    assert best is not None
    parts = _alike(frames, best[1], best[2])
    return [_column(frames, offset, size, best[2]) for offset, size in parts]


def _cheapest(frames: Bytes, start: int, stop: int, big_endian: bool) -> tuple[float, list[tuple[int, int]]]:
    """Shortest path over the places between bytes."""
    cost = {start: 0.0}
    came: dict[int, tuple[int, int]] = {}
    for end in range(start + 1, stop + 1):
        options = [
            (cost[end - size] + _bits(frames, end - size, size, big_endian), size)
            for size in (1, 2, 4, 3)
            if end - size >= start
        ]
        cost[end], size = min(options)
        came[end] = (end - size, size)
    parts = []
    end = stop
    while end > start:
        parts.append(came[end])
        end = came[end][0]
    return cost.get(stop, 0.0), parts[::-1]


def _alike(frames: Bytes, parts: list[tuple[int, int]], big_endian: bool) -> list[tuple[int, int]]:
    """Make pieces next to a field of several bytes one more field like it, where that explains them hardly worse."""
    place = 1
    while place < len(parts):
        size = parts[place - 1][1]
        run = place
        while run < len(parts) and sum(part[1] for part in parts[place:run]) < size:
            run += 1
        pieces = parts[place:run]
        offset = parts[place][0]
        if size > 1 and len(pieces) > 1 and sum(part[1] for part in pieces) == size:
            apart = sum(_bits(frames, start, width, big_endian) for start, width in pieces)
            if _bits(frames, offset, size, big_endian) <= apart + _LIKENESS_BITS:
                parts = [*parts[:place], (offset, size), *parts[run:]]
        place += 1
    return parts


def _bits(frames: Bytes, offset: int, size: int, big_endian: bool) -> float:
    """Bits that a frame needs for a field, given the frames before it."""
    whole = assemble_integers(frames, offset, size, signed=False, big_endian=big_endian).astype(np.int64)
    steps = _wrapped(np.diff(whole), size)
    turns = _wrapped(np.diff(steps), size)
    # Two counters side by side go on as evenly as one, but in far larger steps.
    pace = _PACE_SHARE * float(np.log2(1.0 + np.abs(np.median(steps)))) if steps.size else 0.0
    bits = min(_log_cost(steps), _log_cost(turns) + pace)
    if size == 4 and (floats := _as_floats(whole)) is not None:
        bits = min(bits, _float_bits(whole, floats))
    return _OVERHEAD_BITS[size] + bits


def _float_bits(whole: np.ndarray, floats: Floats) -> float:
    """Bits of floating-point numbers: their last place, where they are largest, is what a whole number counts in."""
    # Floats of whole readings end in zeros.
    changing = int(np.bitwise_or.reduce(whole ^ whole[0]))
    unit = changing & -changing or 1
    return _log_cost(np.diff(floats) / (np.abs(floats).max() * 2.0**-23 * unit))


def _as_floats(whole: np.ndarray) -> Floats | None:
    """The same bytes as floating-point numbers, None where they are none that a board sends."""
    with np.errstate(invalid="ignore"):
        floats = np.ascontiguousarray(whole, dtype=np.uint32).view(np.float32).astype(float)
    magnitude = np.abs(floats[floats != 0])
    # Small whole numbers are no plausible floats, and floats of usual size are huge whole numbers.
    if not magnitude.size or not np.isfinite(floats).all():
        return None
    return floats if ((magnitude > 1e-12) & (magnitude < 1e9)).mean() > 0.99 else None


def _wrapped(steps: np.ndarray, size: int) -> np.ndarray:
    half = 1 << (8 * size - 1)
    return (steps + half) % (2 * half) - half


def _log_cost(steps: np.ndarray) -> float:
    if not steps.size:
        return 0.0
    # As many bits as a byte has where it is all noise, and as many more for every further byte.
    bits = np.log2(1.0 + 2.0 * math.e * np.abs(steps))
    return float(bits.mean() + _WORST_SHARE * bits.max())


def _counts_evenly(whole: np.ndarray, floats: Floats) -> bool:
    """Whether whole numbers explain bytes far better than floats do: a clock that has run for long looks like both."""
    turns = _wrapped(np.diff(_wrapped(np.diff(whole), 4)), 4)
    return _log_cost(turns) < _float_bits(whole, floats) - 3.0


def _column(frames: Bytes, offset: int, size: int, big_endian: bool) -> Column:
    unsigned = assemble_integers(frames, offset, size, signed=False, big_endian=big_endian)
    floats = _as_floats(unsigned) if size == 4 else None
    if floats is not None and not _counts_evenly(unsigned.astype(np.int64), floats):
        return Column(offset, size, "f32", big_endian, floats, floats)
    signed = assemble_integers(frames, offset, size, signed=True, big_endian=big_endian)
    # A reading has a sign unless that tears it apart; what counts has none, and says so itself.
    whole = np.ptp(signed.astype(float)) <= np.ptp(unsigned.astype(float))
    values = signed if whole else unsigned
    return Column(
        offset,
        size,
        f"{'i' if whole else 'u'}{8 * size}",
        big_endian,
        values.astype(float),
        unsigned.astype(float),
    )
