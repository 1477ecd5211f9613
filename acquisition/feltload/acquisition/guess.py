"""A guess at what an unknown sensor sends, to begin its stream description with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from feltload.acquisition.arrivals import Arrivals
from feltload.acquisition.binary import frame_payloads
from feltload.acquisition.checksum import CRC_NAMES, crc_by_name

__all__ = ["FrameGuess", "Guess", "guess_description"]

LEAST_FRAMES = 5
_TEXT = np.zeros(256, dtype=bool)
_TEXT[[0x09, 0x0A, 0x0D, *range(0x20, 0x7F)]] = True


@dataclass(frozen=True)
class FrameGuess:
    """One sort of frame that arrives.

    Parameters
    ----------
    size : int
        Bytes of the payload, checksum included; of a line: number of columns.
    rate_hz : float
        How often it arrives; NaN if that is too short to say.
    checksum : str or None
        Catalogue name of a check that all of these frames pass.
    example : str
        The last one: as hexadecimal bytes, or the line.
    """

    size: int
    rate_hz: float
    checksum: str | None
    example: str


@dataclass(frozen=True)
class Guess:
    """What a sensor seems to send.

    Parameters
    ----------
    framing : {"lines", "cobs", "notification"} or None
        None where it cannot be told: silence, or bytes of a wrong baud.
    delimiter : str or None
        Of lines.
    frames : tuple of FrameGuess
        Commonest first.
    """

    framing: Literal["lines", "cobs", "notification"] | None
    delimiter: str | None = None
    frames: tuple[FrameGuess, ...] = ()

    def __str__(self) -> str:
        if self.framing is None:
            return "nothing that can be told apart: check that it sends, and its baud"
        parts = []
        for frame in self.frames:
            unit = "columns" if self.framing == "lines" else "bytes"
            check = f", {frame.checksum}" if frame.checksum else ""
            parts.append(f"{frame.size} {unit} at {frame.rate_hz:.4g} Hz{check} ({frame.example})")
        split = f" split by {self.delimiter!r}" if self.delimiter else ""
        return f"{self.framing}{split}: {'; '.join(parts)}"


def guess_description(messages: Iterable[tuple[int, bytes]], *, notifications: bool = False) -> Guess:
    """Guess framing, rate and columns from what arrived in a second or more.

    Parameters
    ----------
    messages : iterable of (host_ns, bytes)
    notifications : bool
        They are Bluetooth notifications, each a frame of its own.
    """
    listed = [(stamp, data) for stamp, data in messages if data]
    if not listed:
        return Guess(None)
    span_s = (listed[-1][0] - listed[0][0]) * 1e-9
    if notifications:
        return Guess("notification", None, _frames([data for _, data in listed], span_s))
    arrivals = Arrivals.from_pairs(listed)
    if _TEXT[arrivals.data].mean() > 0.95:
        return _lines(arrivals, span_s)
    flow = arrivals.data.tobytes()
    closed = int((arrivals.data == 0).sum())
    payloads = frame_payloads(flow)[1:]
    commonest = Counter(map(len, payloads)).most_common(1)
    # Chance zeros in other bytes give pieces of all lengths, sound by chance only.
    if len(payloads) >= max(LEAST_FRAMES, 0.8 * (closed - 2)) and commonest[0][1] >= 0.2 * len(payloads):
        return Guess("cobs", None, _frames(payloads, span_s))
    return Guess(None)


def _rate(count: int, span_s: float) -> float:
    return (count - 1) / span_s if span_s > 0 and count > 1 else float("nan")


def _lines(arrivals: Arrivals, span_s: float) -> Guess:
    lines = [line.strip() for line in arrivals.data.tobytes().decode("ascii", "replace").split("\n")[1:-1]]
    lines = [line for line in lines if line]
    if len(lines) < LEAST_FRAMES:
        return Guess(None)
    counts = {mark: sum(line.count(mark) for line in lines) for mark in ",;\t"}
    mark = max(counts, key=lambda key: counts[key])
    delimiter = mark if counts[mark] >= 0.5 * len(lines) else "whitespace"
    columns = [len(line.split() if delimiter == "whitespace" else line.split(delimiter)) for line in lines]
    frames = tuple(
        FrameGuess(size, _rate(count, span_s), None, lines[len(columns) - 1 - columns[::-1].index(size)])
        for size, count in Counter(columns).most_common(3)
    )
    return Guess("lines", delimiter, frames)


def _frames(payloads: list[bytes], span_s: float) -> tuple[FrameGuess, ...]:
    out = []
    for size, count in Counter(map(len, payloads)).most_common(3):
        same = [payload for payload in payloads if len(payload) == size]
        out.append(FrameGuess(size, _rate(count, span_s), _checksum(same), same[-1].hex(" ")))
    return tuple(out)


def _checksum(payloads: list[bytes]) -> str | None:
    """Name of a check that the frames pass; one in twenty may be damaged."""
    for name in sorted(CRC_NAMES, key=lambda name: -crc_by_name(name).size):
        crc = crc_by_name(name)
        if len(payloads) < LEAST_FRAMES or len(payloads[0]) <= crc.size:
            continue
        passed = sum(crc.of(p[: -crc.size]) == int.from_bytes(p[-crc.size :], "little") for p in payloads)
        if passed >= 0.95 * len(payloads):
            return name
    return None
