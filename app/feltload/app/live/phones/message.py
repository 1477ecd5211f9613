"""What a phone's page may send, and nothing else: numbers within bounds, few enough, in order."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

LONGEST_TEXT = 32_768
MOST_SAMPLES = 240
"""In one message: four seconds of a phone that was away."""
COLUMNS = 9
"""Number, stamp in ms, acceleration x y z, rates alpha beta gamma, interval in ms."""
_BOUNDS = (2.0**40, 1e12, *(1000.0,) * 3, *(10_000.0,) * 3, 60_000.0)
MOST_LOST = 10**9


class MessageError(ValueError):
    """A message that is none; its text says why, in words for the phone's page."""


@dataclass(frozen=True)
class Message:
    """One message.

    Attributes
    ----------
    samples : tuple of tuple of float
        Rows of `COLUMNS`.
    up : tuple of float or None
        Upward direction in the phone's axes, as its orientation says; length 1.
    lost : int
        Samples that the page had to drop so far.
    """

    samples: tuple[tuple[float, ...], ...]
    up: tuple[float, float, float] | None
    lost: int


def parse_message(text: str) -> Message:
    """Read a message.

    Raises
    ------
    MessageError
    """
    if len(text) > LONGEST_TEXT:
        raise MessageError("too long")
    try:
        told = json.loads(text, parse_constant=_refused)
    except (ValueError, RecursionError):
        raise MessageError("no JSON") from None
    if not isinstance(told, dict) or not set(told) <= {"m", "up", "lost"}:
        raise MessageError("unknown keys")
    rows = told.get("m", [])
    if not isinstance(rows, list) or len(rows) > MOST_SAMPLES:
        raise MessageError("too many samples")
    samples = tuple(_numbers(row, _BOUNDS) for row in rows)
    if any(later[0] <= before[0] for before, later in pairwise(samples)):
        raise MessageError("samples out of order")
    if any(row[0] < 0 or row[0] != int(row[0]) or row[1] < 0 for row in samples):
        raise MessageError("numbers and stamps that are none")
    lost = told.get("lost", 0)
    if not isinstance(lost, int) or isinstance(lost, bool) or not 0 <= lost <= MOST_LOST:
        raise MessageError("no count")
    return Message(samples, _direction(told.get("up")), lost)


def line_of(sample: Sequence[float]) -> bytes:
    """A sample as the recorder gets it: its numbers, written again."""
    number, stamp_ms, *measured = sample
    return (
        ",".join([f"{number:.0f}", f"{stamp_ms:.3f}", *(f"{value:.7g}" for value in measured)]) + "\n"
    ).encode()


def _numbers(row: object, bounds: Sequence[float]) -> tuple[float, ...]:
    if not isinstance(row, list) or len(row) != len(bounds):
        raise MessageError(f"not {len(bounds)} numbers")
    for value, bound in zip(row, bounds, strict=True):
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        # Compared before it is made a float: a whole number may be longer than one can be.
        if not is_number or not -bound <= value <= bound:
            raise MessageError("no number, or one out of bounds")
    return tuple(float(value) for value in row)


def _direction(told: object) -> tuple[float, float, float] | None:
    if told is None:
        return None
    x, y, z = _numbers(told, (1.5, 1.5, 1.5))
    length = math.sqrt(x * x + y * y + z * z)
    if not 0.5 < length < 1.5:
        raise MessageError("no direction")
    return x / length, y / length, z / length


def _refused(_: str) -> float:
    raise ValueError
