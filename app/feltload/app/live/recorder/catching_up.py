"""What a listener missed, read from the file that the recorder writes."""

from __future__ import annotations

import asyncio
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from pathlib import Path

from feltload.acquisition import RecordingError, read_recording
from feltload.app.errors import AppError
from feltload.app.live.recorder.messages import Arrived

PIECE_NS = 2_000_000_000
AGAIN_S = 0.2
PATIENCE_S = 30.0
"""What was sent is on the disk within a second; a stalled disk takes longer."""

Messages = tuple[tuple[int, bytes], ...]


async def messages_before(path: Path, channel: str, first: int, until: int) -> Messages:
    """Messages of a channel from number `first` up to `until`, as soon as the file has them.

    Raises
    ------
    AppError
        If the file does not get them.
    """
    for _ in range(round(PATIENCE_S / AGAIN_S)):
        found = await asyncio.to_thread(_messages, path, channel, first, until)
        if len(found) == until - first:
            return found
        await asyncio.sleep(AGAIN_S)
    raise AppError(
        "the file lacks what the recorder sent", where=str(path), remedy="look whether the disk is full"
    )


def in_order(before: Mapping[str, Messages]) -> Iterator[Arrived]:
    """Messages of all channels in pieces of some seconds, as they would have come."""
    place = dict.fromkeys(before, 0)
    starts = [messages[0][0] for messages in before.values() if messages]
    until_ns = min(starts, default=0)
    while any(place[channel] < len(messages) for channel, messages in before.items()):
        until_ns += PIECE_NS
        for channel, messages in before.items():
            first = place[channel]
            end = bisect_right(messages, until_ns, lo=first, key=lambda message: message[0])
            if end > first:
                yield Arrived(channel, first, messages[first:end])
                place[channel] = end


def _messages(path: Path, channel: str, first: int, until: int) -> Messages:
    if until <= first:
        return ()
    try:
        recording = read_recording(path)
    except RecordingError:
        # Its head may not be written yet.
        return ()
    rig = recording.info.rig
    name = next((each.name for each in rig.streams if rig.channel_of(each.name) == channel), None)
    return () if name is None else tuple(recording.messages(name).pairs()[first:until])
