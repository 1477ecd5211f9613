"""Records a rig: every link's bytes to one file, with marks, health and a status while it runs."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from feltload.acquisition.errors import RecordingError
from feltload.acquisition.links.link import Arrival, LinkDown
from feltload.acquisition.recorder.channel_reader import ChannelReader, Patience, link_lost
from feltload.acquisition.recorder.channels import Channels
from feltload.acquisition.recorder.connecting import wait_until_connected
from feltload.acquisition.recorder.facts import LinkFact
from feltload.acquisition.recorder.live_streams import LiveStreams
from feltload.acquisition.recorder.pending_writes import PendingWrites
from feltload.acquisition.recorder.writer_thread import MarkRecord, MessageRecord, WriterThread
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.recording.status import RecordingStatus, RecordingSummary, StreamStatus
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.acquisition.wire.health import StreamHealth
from feltload.core import Fact, FeltloadError, Figure, Severity

WRITE_EVERY_S = 0.05
STATUS_EVERY_S = 0.25
HEALTH_EVERY_S = 0.5


class RecorderListener(Protocol):
    """Who hears what is written to the recording; must return at once."""

    def began(self, start_ns: int) -> None:
        """Every sensor sends: host time from which the recording counts."""

    def message(self, channel: str, host_ns: int, data: bytes) -> None:
        """Bytes of a channel; empty when its link was opened again."""

    def mark(self, kind: str, host_ns: int, text: str, until_ns: int | None) -> None:
        """A mark."""


class Recorder:
    """One recording, from connecting the sensors to the closed file.

    Parameters
    ----------
    rig : RigDescription
        Sensors to record.
    info : RecordingInfo
        What is kept with the recording.
    path : Path
        File to write; it is made only once every sensor sends.
    duration_s : float, optional
        Recorded time; without it, until `stop`, or until every link has ended (replays).
    tare_s : float
        Hands-off window at the start, marked as tare; 0 for none.
    overwrite : bool
        Replace a file that exists.
    on_status : callable, optional
        Called on the event loop a few times a second with a `RecordingStatus`.
    on_end : callable, optional
        Called on the event loop when recording has ended, whyever; marks set there are still kept.
    listener : RecorderListener, optional
        Told on the event loop of every message and mark that is written.
    patience : Patience, optional

    Examples
    --------
    >>> recorder = Recorder(rig, info, Path("set1.mcap"), duration_s=60)  # doctest: +SKIP
    >>> summary = await recorder.run()  # doctest: +SKIP
    """

    def __init__(
        self,
        rig: RigDescription,
        info: RecordingInfo,
        path: Path,
        *,
        duration_s: float | None = None,
        tare_s: float = 3.0,
        overwrite: bool = False,
        on_status: Callable[[RecordingStatus], None] | None = None,
        on_end: Callable[[], None] | None = None,
        listener: RecorderListener | None = None,
        patience: Patience | None = None,
    ) -> None:
        self._listener = listener
        self._overwrite = overwrite
        self._rig, self._info, self._path = rig, info, path
        self._duration_s, self._tare_s = duration_s, tare_s
        self._on_status, self._on_end = on_status, on_end
        self._stop = asyncio.Event()
        self._changed = asyncio.Event()
        self._pending = PendingWrites()
        self._start_ns: int | None = None
        self._ended = False
        self._down_ns: dict[str, tuple[int, str]] = {}
        self._events: list[Fact] = []
        self._live = LiveStreams(rig)
        self._channels = Channels(rig, patience or Patience())

    # What a caller does while it runs ----------------------------------------------------------------

    def stop(self) -> None:
        """End the recording and close its file; on the event loop."""
        self._stop.set()

    def mark(
        self, kind: str, text: str = "", *, duration_s: float | None = None, host_ns: int | None = None
    ) -> None:
        """Set a mark now; from any thread.

        Parameters
        ----------
        kind : str
            "tare", "knock", "load", "note", "zero-after", "field-check", "pain".
        text : str
            Free text; for "load" the new load, for "field-check" the known weight.
        duration_s : float, optional
            Length of the stretch that the mark covers, in seconds.
        host_ns : int, optional
            Monotonic host time that it begins at; now when left out.
        """
        host_ns = time.monotonic_ns() if host_ns is None else host_ns
        until_ns = None if duration_s is None else host_ns + int(duration_s * 1e9)
        self._mark(MarkRecord(kind, host_ns, text, until_ns))

    async def run(self) -> RecordingSummary:
        """Connect, record, close.

        Returns
        -------
        RecordingSummary
            Also when the disk filled up (`fault`); the file then holds all that fitted.

        Raises
        ------
        LinkError
            If a sensor cannot be connected, stays silent or cannot be read; no file is left behind.
        RecordingError
            If the file cannot be made.
        """
        tasks = {asyncio.create_task(reader.run(self)): reader for reader in self._channels.readers}
        try:
            if self._on_status is not None:
                self._on_status(RecordingStatus("connecting", 0.0, None))
            await wait_until_connected(tasks, self._changed)
            self._start_ns = time.monotonic_ns()
            if self._listener is not None:
                self._listener.began(self._start_ns)
            return await self._record(self._start_ns)
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

    # What the readers report (the `Sink` of `channel_reader`) -----------------------------------------

    def ready(self, reader: ChannelReader) -> None:
        self._changed.set()
        channel = self._channels.channel_of(reader)
        if channel != reader.channel and reader.sends is not None:
            self._report_event(
                LinkFact.OTHER_SENSOR, where=reader.where, expected=reader.channel, sends=reader.sends.name
            )
        former = self._channels.rename(reader)
        if former is not None:
            self._report_event(LinkFact.PORT_RENAMED, before=former, now=reader.where)
        if reader.channel in self._down_ns:
            down_ns, why = self._down_ns.pop(reader.channel)
            self._mark(MarkRecord("gap", down_ns, f"{channel}: {why}", reader.since_ns))
            # An empty message says that what came before and after do not join.
            self._take(channel, reader.since_ns, b"")

    def message(self, reader: ChannelReader, arrival: Arrival) -> None:
        if self._start_ns is not None and not self._ended:
            self._take(self._channels.channel_of(reader), arrival.host_ns, arrival.data)

    def lost(self, reader: ChannelReader, event: LinkDown) -> None:
        self._down_ns[reader.channel] = (event.host_ns, event.error.what)
        if self._start_ns is not None:
            at_s = (event.host_ns - self._start_ns) * 1e-9
            self._events.append(link_lost(event.error, where=reader.where, at_s=at_s))

    # Recording ---------------------------------------------------------------------------------------

    async def _record(self, start_ns: int) -> RecordingSummary:
        if self._tare_s > 0:
            until_ns = start_ns + int(self._tare_s * 1e9)
            self._mark(MarkRecord("tare", start_ns, "", until_ns))
        fault: FeltloadError | None = None
        async with WriterThread(
            self._path, self._info, start_ns=start_ns, overwrite=self._overwrite
        ) as writer:
            next_status_ns = next_health_ns = start_ns
            while not self._is_over(start_ns):
                with contextlib.suppress(TimeoutError):
                    async with asyncio.timeout(WRITE_EVERY_S):
                        await self._stop.wait()
                fault = await self._pending.flush(writer)
                if fault is not None:
                    break
                now_ns = time.monotonic_ns()
                if now_ns >= next_health_ns:
                    self._live.update(now_ns)
                    next_health_ns = now_ns + int(HEALTH_EVERY_S * 1e9)
                if now_ns >= next_status_ns:
                    self._report(now_ns, start_ns)
                    next_status_ns = now_ns + int(STATUS_EVERY_S * 1e9)
            # What arrives from here on would be counted, but no longer written.
            self._ended = True
            if self._on_end is not None:
                self._on_end()
            end_ns = time.monotonic_ns()
            for channel, (down_ns, why) in self._down_ns.items():
                self._mark(MarkRecord("gap", down_ns, f"{channel}: {why}", end_ns))
            fault = fault or await self._pending.flush(writer)
            self._live.update(end_ns)
            healths = tuple(self._health(stream.name) for stream in self._rig.streams)
            if fault is None:
                fault = await writer.health(healths)
        fault = fault or writer.fault
        with contextlib.suppress(RecordingError):
            # Counted as everyone will count who reads the file; while it ran it was counted from window to window.
            healths = await asyncio.to_thread(self._kept, writer.path, healths)
        return RecordingSummary(writer.path, (end_ns - start_ns) * 1e-9, healths, tuple(self._events), fault)

    def _kept(self, path: Path, counted: tuple[StreamHealth, ...]) -> tuple[StreamHealth, ...]:
        """Health of what is in the file; messages that are not were counted before."""
        kept = read_recording(path).health
        return tuple(replace(kept[each.name], dropped_messages=each.dropped_messages) for each in counted)

    def _is_over(self, start_ns: int) -> bool:
        if self._stop.is_set() or all(reader.ended for reader in self._channels.readers):
            return True
        if self._duration_s is None:
            return False
        return time.monotonic_ns() - start_ns >= self._duration_s * 1e9

    def _take(self, channel: str, host_ns: int, data: bytes) -> None:
        if self._pending.message(MessageRecord(channel, host_ns, data)):
            self._live.take(channel, host_ns, data)
            if self._listener is not None:
                self._listener.message(channel, host_ns, data)
        else:
            self._live.drop(channel)

    def _mark(self, mark: MarkRecord) -> None:
        self._pending.mark(mark)
        if self._listener is not None:
            self._listener.mark(mark.kind, mark.host_ns, mark.text, mark.until_ns)

    def _health(self, name: str) -> StreamHealth:
        reader = self._channels.reader_of(self._rig.channel_of(name))
        return self._live.health(name, reader.dropped)

    def _report(self, now_ns: int, start_ns: int) -> None:
        if self._on_status is None:
            return
        elapsed_s = (now_ns - start_ns) * 1e-9
        taring = elapsed_s < self._tare_s
        planned = None if self._duration_s is None else max(0.0, self._duration_s - elapsed_s)
        streams = tuple(self._stream_status(stream.name) for stream in self._rig.streams)
        self._on_status(
            RecordingStatus(
                "tare" if taring else "recording",
                elapsed_s,
                self._tare_s - elapsed_s if taring else planned,
                streams,
            )
        )

    def _stream_status(self, name: str) -> StreamStatus:
        channel = self._rig.channel_of(name)
        reader = self._channels.sending(channel)
        return self._live.status(
            name,
            connected=reader.connected and self._channels.channel_of(reader) == channel,
            backlog=reader.backlog + len(self._pending),
            dropped_before=self._channels.reader_of(channel).dropped,
            trouble=reader.trouble,
        )

    def _report_event(self, kind: LinkFact, **figures: Figure) -> None:
        event = Fact(kind, Severity.NOTE, figures=figures)
        if event not in self._events:
            self._events.append(event)
