"""Replay of a recording: what arrived then arrives again, as a link."""

from __future__ import annotations

import asyncio
import time
from pathlib import Path
from types import TracebackType
from typing import Self

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.link import Arrival
from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.wire.arrivals import Arrivals
from feltload.core import FeltloadError


class Replay:
    """The arrivals of one sensor, and how far they have been replayed.

    Parameters
    ----------
    arrivals : Arrivals
        As `Recording.messages` gives them.
    origin_ns : int
        Host time in them that counts as the start of the replay; the same for all sensors of a rig.
    speed : float or None
        1 for the recorded timing, 2 for twice as fast; None for as fast as they are taken.
    """

    def __init__(self, arrivals: Arrivals, *, origin_ns: int, speed: float | None = 1.0) -> None:
        if speed is not None and not speed > 0:
            raise ValueError("speed is above 0, or None for as fast as possible")
        self._arrivals = arrivals
        self._origin_ns = origin_ns
        self._speed = speed
        self._next = 0
        self._begun_ns: int | None = None

    def begin(self) -> None:
        """Start the time of the replay, the first time."""
        if self._begun_ns is None:
            self._begun_ns = time.monotonic_ns()

    async def take(self) -> Arrival | None:
        """Wait for the next arrival; None at the end.

        Its stamp is the recorded one moved to the start of the replay, so that delays of this computer
        do not add to those of the day.
        """
        self.begin()
        if self._begun_ns is None or self._next >= len(self._arrivals):
            return None
        since_ns = int(self._arrivals.host_ns[self._next]) - self._origin_ns
        at_ns = self._begun_ns + (since_ns if self._speed is None else round(since_ns / self._speed))
        wait_s = 0.0 if self._speed is None else max(0.0, (at_ns - time.monotonic_ns()) * 1e-9)
        await asyncio.sleep(wait_s)
        start = int(self._arrivals.ends[self._next - 1]) if self._next else 0
        end = int(self._arrivals.ends[self._next])
        self._next += 1
        return Arrival(self._arrivals.data[start:end].tobytes(), at_ns)


class ReplayLink:
    """A sensor's part of a recording as a link; ends when the recording ends.

    A silence in the recording is a silence here. A new link on the same `Replay` goes on where the
    one before stopped, as a sensor that was out of reach does.

    Parameters
    ----------
    replay : Replay
    where : str
        File and stream, as shown to a person.
    """

    def __init__(self, replay: Replay, *, where: str) -> None:
        self._replay = replay
        self._where = where

    @property
    def where(self) -> str:
        """File and stream."""
        return self._where

    @property
    def backlog(self) -> int:
        """Always 0: arrivals are made when they are taken."""
        return 0

    @property
    def dropped(self) -> int:
        """Always 0."""
        return 0

    async def __aenter__(self) -> Self:
        self._replay.begin()
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        return None

    def __aiter__(self) -> Self:
        return self

    async def __anext__(self) -> Arrival:
        arrival = await self._replay.take()
        if arrival is None:
            raise StopAsyncIteration
        return arrival


def open_replay(path: Path, stream: str, *, speed: float | None = 1.0) -> Replay:
    """Replay of one stream of a recording, with the time of the whole recording.

    Raises
    ------
    LinkError
        If the recording cannot be read or has no such stream.
    """
    try:
        recording = read_recording(path)
        return Replay(recording.messages(stream), origin_ns=recording.origin_ns, speed=speed)
    except FeltloadError as error:
        raise LinkError(
            f"cannot be replayed ({error.what})",
            reason=LinkReason.NOT_FOUND,
            where=f"{path}: {stream}",
            remedy=error.remedy or "name a recording and one of its streams",
        ) from None
