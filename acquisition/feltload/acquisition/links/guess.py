"""A guess at what an unknown sensor sends, to begin its stream description with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from feltload.acquisition.links.identify_stream import identify_stream
from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.binary import frame_payloads
from feltload.acquisition.wire.checks.named import catalogue
from feltload.acquisition.wire.descriptions.link_config import BleLinkConfig
from feltload.acquisition.wire.descriptions.reading import load_stream_description, shipped_descriptions

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
        None where it cannot be determined: silence, or bytes of a wrong baud.
    delimiter : str or None
        Of lines.
    frames : tuple of FrameGuess
        Commonest first.
    description : str or None
        A shipped description, with a checksum, that reads it.
    unread : str
        The first bytes as hexadecimal, where the framing cannot be determined.
    """

    framing: Literal["lines", "cobs", "notification"] | None
    delimiter: str | None = None
    frames: tuple[FrameGuess, ...] = ()
    description: str | None = None
    unread: str = ""


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
    known = _known(listed, notifications=notifications)
    if notifications:
        return Guess("notification", None, _frames([data for _, data in listed], span_s), known)
    arrivals = Arrivals.from_pairs(listed)
    unknown = Guess(None, unread=arrivals.data[:24].tobytes().hex(" "))
    if _TEXT[arrivals.data].mean() > 0.95:
        return _lines(arrivals, span_s) or unknown
    flow = arrivals.data.tobytes()
    closed = int((arrivals.data == 0).sum())
    payloads = frame_payloads(flow)[1:]
    commonest = Counter(map(len, payloads)).most_common(1)
    # Chance zeros in other bytes give pieces of all lengths, sound by chance only.
    if len(payloads) >= max(LEAST_FRAMES, 0.8 * (closed - 2)) and commonest[0][1] >= 0.2 * len(payloads):
        return Guess("cobs", None, _frames(payloads, span_s), known)
    return unknown


def _known(messages: list[tuple[int, bytes]], *, notifications: bool) -> str | None:
    """Name of the shipped description that reads them; one without a checksum would read anything."""
    suited = {
        name: description
        for name in shipped_descriptions()
        if (description := load_stream_description(name)).checksum is not None
        and isinstance(description.link, BleLinkConfig) == notifications
    }
    best = identify_stream(messages, list(suited.values()))
    return next((name for name, description in suited.items() if description is best), None)


def _rate(count: int, span_s: float) -> float:
    return (count - 1) / span_s if span_s > 0 and count > 1 else float("nan")


def _lines(arrivals: Arrivals, span_s: float) -> Guess | None:
    lines = [line.strip() for line in arrivals.data.tobytes().decode("ascii", "replace").split("\n")[1:-1]]
    lines = [line for line in lines if line]
    if len(lines) < LEAST_FRAMES:
        return None
    # The comma comes last: between semicolons or tabs it is a decimal comma.
    often = (mark for mark in ";\t," if sum(mark in line for line in lines) >= 0.5 * len(lines))
    delimiter = next(often, "whitespace")
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
    for name, crc in sorted(catalogue().items(), key=lambda item: -item[1].size):
        if len(payloads) < LEAST_FRAMES or len(payloads[0]) <= crc.size:
            continue
        passed = sum(crc.of(p[: -crc.size]) == int.from_bytes(p[-crc.size :], "little") for p in payloads)
        if passed >= 0.95 * len(payloads):
            return name
    return None
