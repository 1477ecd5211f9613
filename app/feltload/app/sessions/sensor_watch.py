"""Listening to sensors: what they send, their values as they come, and a rig file of them."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from feltload.acquisition import (
    Guess,
    GuessedStream,
    GuessFact,
    LinkConfig,
    LinkError,
    LinkReason,
    SerialLinkConfig,
    StreamDescription,
    decode,
    link_name,
    link_opener,
    rig_text,
    sample_link,
)
from feltload.app.errors import UsageError
from feltload.app.text.sensor.guess import remarks

SHOWN_EVERY_S = 0.5
_KEPT_S = 1.0

ShowValues = Callable[[str, dict[str, float]], None]


@dataclass(frozen=True)
class Heard:
    """What one link brought."""

    link: LinkConfig
    guess: Guess

    @property
    def where(self) -> str:
        """Port or address."""
        return link_name(self.link)


def serial_line(*, baud: int, parity: str, start: str, stop: str) -> SerialLinkConfig:
    """Line of a serial port as options give it; ``\\r``, ``\\n`` and ``\\t`` of a command stand for themselves.

    Raises
    ------
    UsageError
        If a value cannot be.
    """
    try:
        commands = {
            key: text.replace("\\r", "\r").replace("\\n", "\n").replace("\\t", "\t")
            for key, text in (("start", start), ("stop", stop))
        }
        return SerialLinkConfig.model_validate({"baud": baud, "parity": parity, **commands})
    except ValueError as error:
        said = str(error).splitlines()[2].strip().removeprefix("Value error, ").partition(" [type=")[0]
        raise UsageError(said, where="--baud, --start, --stop", remedy="correct that option") from None


async def listen_to(links: Sequence[LinkConfig], seconds: float) -> list[Heard]:
    """Listen on links, all at once, and guess what each sends.

    Raises
    ------
    LinkError
        If one cannot be opened.
    """
    found = await asyncio.gather(*(sample_link(link, seconds=seconds) for link in links))
    return [Heard(link, guess) for link, (guess, _) in zip(links, found, strict=True)]


async def watch(heard: Sequence[Heard], seconds: float, show: ShowValues) -> None:
    """Show decoded values for some seconds, twice a second and per stream."""
    with contextlib.suppress(TimeoutError):
        async with asyncio.timeout(seconds):
            await asyncio.gather(*(_watch_one(item, show) for item in heard if item.guess.streams))


async def _watch_one(item: Heard, show: ShowValues) -> None:
    recent: deque[tuple[int, bytes]] = deque()
    shown_s = time.monotonic()
    async with link_opener(item.link, stream="sensor")() as link:
        async for arrival in link:
            recent.append((arrival.host_ns, arrival.data))
            while arrival.host_ns - recent[0][0] > _KEPT_S * 1e9:
                recent.popleft()
            if time.monotonic() - shown_s >= SHOWN_EVERY_S:
                shown_s = time.monotonic()
                for stream in item.guess.streams:
                    if values := latest_values(list(recent), stream):
                        show(f"{item.where} {stream.description.kind}", values)


def latest_values(messages: list[tuple[int, bytes]], stream: GuessedStream) -> dict[str, float]:
    """Last value of every column of a stream; empty where nothing decodes."""
    frame = decode(messages, stream.description).frame.dropna(axis=1, how="all")
    if frame.empty:
        return {}
    return {name: float(frame[name].iloc[-1]) for name in frame.columns if name != "host_s"}


def has_counts(heard: Heard) -> bool:
    """Whether its force arrives in counts of which nobody said how many are a newton."""
    return any(
        fact.kind == GuessFact.FORCE_IN_COUNTS for stream in heard.guess.streams for fact in stream.facts
    )


def in_newtons(heard: Heard, counts_per_n: float) -> Heard:
    """The same with this many counts to a newton, as a data sheet says it."""

    def said(stream: GuessedStream) -> GuessedStream:
        if not any(fact.kind == GuessFact.FORCE_IN_COUNTS for fact in stream.facts):
            return stream
        fields = [
            {**field, "unit": "N", "scale": 1.0 / counts_per_n} if field["name"] == "force" else field
            for field in stream.keys["fields"]
        ]
        keys = {**stream.keys, "fields": fields}
        description = StreamDescription.model_validate({"name": stream.description.name, **keys})
        facts = tuple(fact for fact in stream.facts if fact.kind != GuessFact.FORCE_IN_COUNTS)
        return GuessedStream(keys, description, facts)

    return replace(heard, guess=replace(heard.guess, streams=tuple(map(said, heard.guess.streams))))


def rig_of(heard: Sequence[Heard]) -> str:
    """Text of a rig file of everything that was recognised.

    Raises
    ------
    LinkError
        If nothing was.
    """
    sensors = [(item.link, stream) for item in heard for stream in item.guess.streams]
    if not sensors:
        raise LinkError(
            "nothing to write: no sensor was recognised",
            reason=LinkReason.UNSUPPORTED,
            where=", ".join(item.where for item in heard),
            remedy="pull on the cell and tilt the sensor while it listens, or try another --baud",
        )
    return rig_text(sensors, {place: remarks(stream) for place, (_, stream) in enumerate(sensors)})
