"""Guesses how an unknown sensor's bytes are framed, as a start for its description."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from cobs import cobs

from feltload.acquisition.description import load_stream_description, shipped_descriptions
from feltload.acquisition.identity import recognised
from feltload.acquisition.schema import BleLink

_DELIMITERS = (",", ";", "\t", " ")
_MOSTLY = 0.8
"""Share of frames that must agree: the first and the last may be cut."""


@dataclass(frozen=True)
class FramingGuess:
    """What the bytes of a sensor look like.

    Attributes
    ----------
    framing : {"cobs", "lines", "notification"} or None
        None: no pattern found; at a serial port perhaps the wrong baud rate.
    rate_hz : float or None
        Frames per second.
    delimiter : str or None
        Between the columns of a line.
    columns : int or None
        Columns of a line.
    frame_bytes : int or None
        Commonest length of a binary frame, decoded.
    description : str or None
        A shipped description that fits.
    sample : str
        One frame: the line, or its bytes in hexadecimal.
    """

    framing: Literal["cobs", "lines", "notification"] | None
    rate_hz: float | None = None
    delimiter: str | None = None
    columns: int | None = None
    frame_bytes: int | None = None
    description: str | None = None
    sample: str = ""


def guess_framing(messages: Sequence[tuple[int, bytes]], *, notifications: bool) -> FramingGuess:
    """Look at what arrived on one link.

    Parameters
    ----------
    messages : sequence of (host_ns, bytes)
    notifications : bool
        Each message is a Bluetooth LE notification, which is a frame by itself.
    """
    data = b"".join(part for _, part in messages)
    if not data:
        return FramingGuess(None)
    known = _known(messages, notifications=notifications)
    if notifications:
        frames = [part for _, part in messages]
        return _binary("notification", frames, messages, known)
    lines = [line for line in data.split(b"\n")[1:-1] if line.strip()]
    if len(lines) >= 3 and _text_share(lines) >= _MOSTLY:
        return _text(lines, messages, known)
    frames = [_unstuffed(part) for part in data.split(b"\x00")[1:-1] if part]
    sound = [frame for frame in frames if frame]
    if len(frames) >= 3 and len(sound) >= _MOSTLY * len(frames):
        return _binary("cobs", sound, messages, known)
    return FramingGuess(None, sample=data[:24].hex(" "))


def _known(messages: Sequence[tuple[int, bytes]], *, notifications: bool) -> str | None:
    descriptions = {name: load_stream_description(name) for name in shipped_descriptions()}
    suited = {
        name: item
        for name, item in descriptions.items()
        if isinstance(item.link, BleLink) == notifications and item.checksum is not None
    }
    found = recognised(messages, list(suited.values()))
    return next((name for name, item in suited.items() if item is found), None)


def _binary(
    framing: Literal["cobs", "notification"],
    frames: list[bytes],
    messages: Sequence[tuple[int, bytes]],
    known: str | None,
) -> FramingGuess:
    length, _ = Counter(len(frame) for frame in frames).most_common(1)[0]
    sample = next(frame for frame in frames if len(frame) == length)
    return FramingGuess(
        framing, _rate(len(frames), messages), frame_bytes=length, description=known, sample=sample.hex(" ")
    )


def _text(lines: list[bytes], messages: Sequence[tuple[int, bytes]], known: str | None) -> FramingGuess:
    texts = [line.decode("utf-8", "replace").strip() for line in lines]
    for delimiter in _DELIMITERS:
        counts = Counter(len(text.split(delimiter)) for text in texts)
        columns, seen = counts.most_common(1)[0]
        if columns > 1 and seen >= _MOSTLY * len(texts):
            break
    else:
        delimiter, columns = None, 1
    return FramingGuess(
        "lines",
        _rate(len(lines), messages),
        delimiter="whitespace" if delimiter in (" ", "\t") else delimiter,
        columns=columns,
        description=known,
        sample=texts[-1],
    )


def _rate(frames: int, messages: Sequence[tuple[int, bytes]]) -> float | None:
    span_ns = messages[-1][0] - messages[0][0]
    return frames / (span_ns * 1e-9) if span_ns > 0 else None


def _text_share(lines: list[bytes]) -> float:
    return sum(_is_text(line) for line in lines) / len(lines)


def _is_text(line: bytes) -> bool:
    return all(32 <= byte < 127 or byte in (9, 13) for byte in line)


def _unstuffed(part: bytes) -> bytes:
    try:
        return bytes(cobs.decode(part))
    except cobs.DecodeError:
        return b""
