"""A guess at what an unknown sensor sends: framing, fields and meaning, as stream descriptions to record with.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from pydantic import ValidationError

from feltload.acquisition.guessing.binary_streams import describe_frames
from feltload.acquisition.guessing.facts import GuessFact
from feltload.acquisition.guessing.frame_trial import FoundFraming, find_framing
from feltload.acquisition.guessing.line_trial import describe_lines, text_lines
from feltload.acquisition.guessing.outlet import describe_outlet
from feltload.acquisition.links.identify_stream import SURE_SAMPLES
from feltload.acquisition.wire.arrivals import Arrivals
from feltload.acquisition.wire.decode import decode
from feltload.acquisition.wire.descriptions.link_config import BleLinkConfig
from feltload.acquisition.wire.descriptions.reading import load_stream_description, shipped_descriptions
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import Fact, Severity

__all__ = ["FrameGuess", "Guess", "GuessedStream", "guess_description", "guess_outlet"]

LEAST_FRAMES = 5
_TEXT = np.zeros(256, dtype=bool)
_TEXT[[0x09, 0x0A, 0x0D, *range(0x20, 0x7F)]] = True


@dataclass(frozen=True)
class FrameGuess:
    """One sort of frame that arrives.

    Parameters
    ----------
    size : int
        Bytes of the frame, checksum included; of a line: number of columns.
    rate_hz : float
        How often it arrives; NaN if that is too short to say.
    checksum : str or None
        Name of a check that these frames pass.
    example : str
        The last one: as hexadecimal bytes, or the line.
    """

    size: int
    rate_hz: float
    checksum: str | None
    example: str


@dataclass(frozen=True)
class GuessedStream:
    """A stream that a sensor seems to send.

    Parameters
    ----------
    keys : dict
        Of its description, without name and link; of a shipped one only its name.
    description : StreamDescription
    facts : tuple of Fact
        What was found, and what is left to a person.
    """

    keys: dict[str, Any]
    description: StreamDescription
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class Guess:
    """What a sensor seems to send.

    Parameters
    ----------
    framing : {"lines", "cobs", "slip", "sync", "notification"} or None
        None where it cannot be determined: silence, or bytes of a wrong baud.
    delimiter : str or None
        Of lines.
    frames : tuple of FrameGuess
        Commonest first.
    description : str or None
        A shipped description, with a checksum, that reads it.
    unread : str
        The first bytes as hexadecimal, where the framing cannot be determined.
    streams : tuple of GuessedStream
        To record with; empty where nothing that is measured was found.
    facts : tuple of Fact
        Of the whole.
    """

    framing: Literal["lines", "cobs", "slip", "sync", "notification"] | None
    delimiter: str | None = None
    frames: tuple[FrameGuess, ...] = ()
    description: str | None = None
    unread: str = ""
    streams: tuple[GuessedStream, ...] = ()
    facts: tuple[Fact, ...] = ()


def guess_description(messages: Iterable[tuple[int, bytes]], *, notifications: bool = False) -> Guess:
    """Guess framing, fields and their meaning from what arrived in some seconds.

    Parameters
    ----------
    messages : iterable of (host_ns, bytes)
    notifications : bool
        They are Bluetooth notifications or datagrams, each a frame of its own.
    """
    listed = [(stamp, data) for stamp, data in messages if data]
    if not listed:
        return Guess(None)
    arrivals = Arrivals.from_pairs(listed)
    span_s = (listed[-1][0] - listed[0][0]) * 1e-9
    if _TEXT[arrivals.data].mean() > 0.95 and (found := _lines(arrivals, span_s)) is not None:
        return found
    framing = find_framing(arrivals, notifications=notifications)
    if framing is None:
        return Guess(None, unread=arrivals.data[:24].tobytes().hex(" "))
    frames = tuple(
        FrameGuess(
            kind.frames.shape[0],
            _rate(kind.frames.shape[1], span_s),
            None if kind.check is None else kind.check.checksum.check.name,
            kind.frames[:, -1].tobytes().hex(" "),
        )
        for kind in framing.kinds
    )
    shipped = _shipped(listed, notifications=notifications)
    streams = shipped or _described(framing, arrivals, listed)
    return Guess(
        framing.framing,
        frames=frames,
        description=shipped[0].keys["description"] if shipped else None,
        streams=streams,
        facts=() if streams else (Fact(GuessFact.NOTHING_MEASURED, Severity.CAUTION),),
    )


def guess_outlet(messages: list[tuple[int, bytes]]) -> Guess:
    """Guess what the channels of a Lab Streaming Layer outlet mean, from samples as its link gives them."""
    described = describe_outlet(messages) if messages else []
    streams = _that_decode(described, messages)
    span_s = (messages[-1][0] - messages[0][0]) * 1e-9 if messages else 0.0
    frames = (FrameGuess(len(messages[-1][1]), _rate(len(messages), span_s), None, ""),) if messages else ()
    facts = () if streams else (Fact(GuessFact.NOTHING_MEASURED, Severity.CAUTION),)
    return Guess("notification" if messages else None, frames=frames, streams=streams, facts=facts)


def _described(
    framing: FoundFraming, arrivals: Arrivals, messages: list[tuple[int, bytes]]
) -> tuple[GuessedStream, ...]:
    described = describe_frames(framing, (arrivals.host_ns - arrivals.host_ns[0]) * 1e-9)
    return _that_decode(described, messages)


def _that_decode(
    described: list[tuple[dict[str, Any], list[Fact]]], messages: list[tuple[int, bytes]]
) -> tuple[GuessedStream, ...]:
    """Descriptions by which what was heard decodes."""
    streams = []
    for keys, facts in described:
        keys["rate_hz"] = float(f"{keys['rate_hz']:.3g}")
        try:
            description = StreamDescription.model_validate({"name": keys["kind"], **keys})
        except ValidationError:
            continue
        if decode(messages, description).health.samples >= SURE_SAMPLES:
            streams.append(GuessedStream(keys, description, tuple(facts)))
    return tuple(streams)


def _shipped(messages: list[tuple[int, bytes]], *, notifications: bool) -> tuple[GuessedStream, ...]:
    """Shipped descriptions that read them; one without a checksum would read anything."""
    out = []
    for name in shipped_descriptions():
        description = load_stream_description(name)
        if description.checksum is None or isinstance(description.link, BleLinkConfig) != notifications:
            continue
        samples = decode(messages, description).health.samples
        if samples >= SURE_SAMPLES:
            out.append((samples, GuessedStream({"description": name}, description, ())))
    return tuple(stream for _, stream in sorted(out, key=lambda item: -item[0]))


def _rate(count: int, span_s: float) -> float:
    return (count - 1) / span_s if span_s > 0 and count > 1 else float("nan")


def _lines(arrivals: Arrivals, span_s: float) -> Guess | None:
    lines = text_lines(arrivals)
    found = describe_lines(lines)
    if found is None:
        return None
    keys, described = found
    delimiter = keys.get("delimiter", ",")
    plain = [line for line, _ in lines]
    columns = [len(line.split() if delimiter == "whitespace" else line.split(delimiter)) for line in plain]
    checksum = keys.get("checksum", {}).get("name")
    frames = tuple(
        FrameGuess(size, _rate(count, span_s), checksum, plain[len(columns) - 1 - columns[::-1].index(size)])
        for size, count in Counter(columns).most_common(3)
    )
    first = int(arrivals.host_ns[0])
    messages = list(zip(arrivals.host_ns.tolist(), np.split(arrivals.data, arrivals.ends[:-1]), strict=True))
    streams = _that_decode(described, [(stamp - first, data.tobytes()) for stamp, data in messages])
    facts = () if streams else (Fact(GuessFact.NOTHING_MEASURED, Severity.CAUTION),)
    return Guess("lines", delimiter, frames, streams=streams, facts=facts)
