"""What a sensor seems to send, and what is still to be said, in words."""

from __future__ import annotations

import math

from feltload.acquisition import Guess, GuessedStream
from feltload.app.text.facts import describe
from feltload.core import Severity


def describe_unread(guess: Guess) -> str:
    """What a link brings in which no framing was recognised."""
    such_as = f" (such as {guess.unread})" if guess.unread else ""
    return f"neither frames nor lines were recognised{such_as}: check that it sends, and its baud rate"


def remarks(stream: GuessedStream) -> list[str]:
    """Lines about a guessed stream: what was found, then what is left to a person."""
    out = []
    for severity, lead in ((Severity.NOTE, "found"), (Severity.CAUTION, "to say")):
        out += [f"{lead}: {describe(fact)}" for fact in stream.facts if fact.severity is severity]
    return out


def arrives(guess: Guess) -> list[str]:
    """What a link brings, line by line."""
    if guess.framing is None:
        return [describe_unread(guess)]
    lines = []
    unit = "columns" if guess.framing == "lines" else "bytes"
    for frame in guess.frames[:3]:
        rate = "" if math.isnan(frame.rate_hz) else f", about {frame.rate_hz:.0f} per second"
        check = f", {frame.checksum}" if frame.checksum else ""
        lines.append(
            f"{frame.size} {unit}{rate}{check}{f'; such as {frame.example}' if frame.example else ''}"
        )
    if guess.description is not None:
        lines.append(f"the shipped description {guess.description} fits")
    for stream in guess.streams:
        kind = "load cell" if stream.description.kind == "force" else "inertial sensor"
        lines += [f"{kind}: {remark}" for remark in (remarks(stream) or ["understood"])]
    return [*lines, *(describe(fact) for fact in guess.facts)]
