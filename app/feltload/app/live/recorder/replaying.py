"""A recording sent again as it arrived: same events, same script, nothing written."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator
from dataclasses import dataclass
from heapq import merge

from feltload.acquisition import LiveStreams, Recording, RecordingStatus, stopped_by_interrupt
from feltload.app.errors import UsageError
from feltload.app.files.recordings import open_recording
from feltload.app.live.recorder.broadcast import BATCH_S, Broadcast
from feltload.app.live.recorder.guidance import Guidance
from feltload.app.live.recorder.messages import (
    Abort,
    Command,
    Counted,
    Ended,
    GoOn,
    Overloaded,
    SetMark,
    Status,
    Stop,
)
from feltload.app.live.recorder.request import ReplayRequest
from feltload.app.live.recorder.scripts import script_of

STATUS_EVERY_S = 0.25


@dataclass(frozen=True)
class _Item:
    """A message of a channel, or a mark, and when it came."""

    host_ns: int
    channel: str = ""
    data: bytes = b""
    mark: tuple[str, str, int | None] | None = None


class LiveReplay:
    """One replay in this process.

    Parameters
    ----------
    request : ReplayRequest

    Raises
    ------
    FeltloadError
        If the recording cannot be read.
    """

    def __init__(self, request: ReplayRequest) -> None:
        if not request.speed > 0.0:
            raise UsageError(f"a speed of {request.speed:g} is none", remedy="give one above 0, such as 1")
        self._request = request
        self._recording = open_recording(request.recording)
        self.broadcast = Broadcast(request, str(request.recording), self._take)
        info = self._recording.info
        self._guidance = Guidance(script_of(info, request.person), lambda text: None)
        self._live = LiveStreams(info.rig)
        self._tare_until_s = max(
            (mark.until_s for mark in self._recording.marks if mark.kind == "tare" and mark.until_s),
            default=0.0,
        )
        self._stop = asyncio.Event()

    async def run(self) -> Ended:
        """Send everything at its time."""
        recording, speed = self._recording, self._request.speed
        items = list(_items(recording))
        origin_ns = recording.origin_ns
        last_ns = items[-1].host_ns if items else origin_ns
        self.broadcast.began(origin_ns)
        began_s, next_s, place, now_ns = time.monotonic(), 0.0, 0, origin_ns
        with stopped_by_interrupt(self._stop.set):
            while place < len(items) and not self._stop.is_set():
                await asyncio.sleep(BATCH_S)
                now_ns = origin_ns + int((time.monotonic() - began_s) * speed * 1e9)
                while place < len(items) and items[place].host_ns <= now_ns:
                    self._send(items[place])
                    place += 1
                elapsed_s = (min(now_ns, last_ns) - origin_ns) * 1e-9
                if elapsed_s >= next_s:
                    self._report(elapsed_s, now_ns, (last_ns - origin_ns) * 1e-9)
                    next_s = elapsed_s + STATUS_EVERY_S
        facts = tuple(fact for health in recording.health.values() for fact in health.facts())
        return Ended(str(self._request.recording), (min(now_ns, last_ns) - origin_ns) * 1e-9, facts)

    def _send(self, item: _Item) -> None:
        if item.mark is not None:
            kind, text, until_ns = item.mark
            self._guidance.marked(kind, None if until_ns is None else (until_ns - item.host_ns) * 1e-9)
            self.broadcast.mark(kind, item.host_ns, text, until_ns)
            return
        self._live.take(item.channel, item.host_ns, item.data)
        self.broadcast.message(item.channel, item.host_ns, item.data)

    def _report(self, elapsed_s: float, now_ns: int, length_s: float) -> None:
        self._live.update(now_ns)
        taring = elapsed_s < self._tare_until_s
        status = RecordingStatus(
            "tare" if taring else "recording",
            elapsed_s,
            (self._tare_until_s if taring else length_s) - elapsed_s,
            tuple(
                self._live.status(stream.name, connected=True, backlog=0, dropped_before=0, trouble=None)
                for stream in self._recording.info.rig.streams
            ),
        )
        self.broadcast.send(Status(status, self._guidance.follow(status)))

    def _take(self, command: Command) -> None:
        match command:
            case SetMark():
                # It is shown, and the script heeds it; the recording stays as it is.
                self._guidance.marked(command.kind, command.duration_s)
            case GoOn():
                self._guidance.go_on()
            case Overloaded():
                self._guidance.overload()
            case Counted():
                self._guidance.counted(command.repetitions)
            case Stop() | Abort():
                self._stop.set()


def _items(recording: Recording) -> Iterator[_Item]:
    """Messages of all channels and marks, in order of time."""
    channels = {
        recording.info.rig.channel_of(stream.name): stream.name for stream in recording.info.rig.streams
    }
    parts = [
        [_Item(host_ns, channel, data) for host_ns, data in recording.messages(name).pairs()]
        for channel, name in channels.items()
    ]
    marks = [
        _Item(
            recording.origin_ns + round(mark.start_s * 1e9),
            mark=(
                mark.kind,
                mark.text,
                None if mark.until_s is None else recording.origin_ns + round(mark.until_s * 1e9),
            ),
        )
        for mark in recording.marks
    ]
    return merge(*parts, marks, key=lambda item: item.host_ns)
