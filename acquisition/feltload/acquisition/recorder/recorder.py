"""Records a rig: every link's bytes to one file, with marks, health and a status while it runs."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from feltload.acquisition.errors import LinkError
from feltload.acquisition.links.devices import find_ports
from feltload.acquisition.links.link import Arrival, LinkDown
from feltload.acquisition.links.ports import FollowedPort, PortRegister
from feltload.acquisition.links.reconnection import Reconnection
from feltload.acquisition.recorder.channel_reader import ChannelReader, Patience, link_lost
from feltload.acquisition.recorder.facts import LinkFact
from feltload.acquisition.recorder.interrupts import stopped_by_interrupt
from feltload.acquisition.recorder.live_streams import LiveStreams
from feltload.acquisition.recorder.opening import link_name, link_opener
from feltload.acquisition.recorder.pending_writes import PendingWrites
from feltload.acquisition.recorder.writer_thread import Mark, Message, WriterThread
from feltload.acquisition.recording.recording import RecordingInfo
from feltload.acquisition.recording.status import RecordingStatus, RecordingSummary, StreamStatus
from feltload.acquisition.wire import schema
from feltload.acquisition.wire.health import StreamHealth
from feltload.acquisition.wire.schema import RigDescription
from feltload.core import Fact, FeltloadError, Figure, Severity

WRITE_EVERY_S = 0.05
STATUS_EVERY_S = 0.25
HEALTH_EVERY_S = 0.5


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
        patience: Patience | None = None,
    ) -> None:
        self._overwrite = overwrite
        self._rig, self._info, self._path = rig, info, path
        self._duration_s, self._tare_s = duration_s, tare_s
        self._on_status = on_status
        self._patience = patience or Patience()
        self._stop = asyncio.Event()
        self._changed = asyncio.Event()
        self._pending = PendingWrites()
        self._start_ns: int | None = None
        self._ended = False
        self._down_ns: dict[str, tuple[int, str]] = {}
        self._events: list[Fact] = []
        self._live = LiveStreams(rig)
        self._register = PortRegister()
        self._ports: dict[str, FollowedPort] = {}
        self._readers = [self._reader(channel, streams) for channel, streams in rig.channels().items()]

    # What a caller does while it runs ----------------------------------------------------------------

    def stop(self) -> None:
        """End the recording and close its file; on the event loop."""
        self._stop.set()

    def mark(self, kind: str, text: str = "", *, duration_s: float | None = None) -> None:
        """Set a mark now; from any thread.

        Parameters
        ----------
        kind : str
            "tare", "knock", "load", "note", "zero-after", "field-check".
        text : str
            Free text; for "load" the new load, for "field-check" the known weight.
        duration_s : float, optional
            Length of the stretch that the mark covers, in seconds.
        """
        host_ns = time.monotonic_ns()
        until_ns = None if duration_s is None else host_ns + int(duration_s * 1e9)
        self._pending.mark(Mark(kind, host_ns, text, until_ns))

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
        tasks = {asyncio.create_task(reader.run(self)): reader for reader in self._readers}
        try:
            await self._connect(tasks)
            self._start_ns = time.monotonic_ns()
            return await self._record(self._start_ns)
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

    # What the readers report (the `Sink` of `channel_reader`) -----------------------------------------

    def ready(self, reader: ChannelReader) -> None:
        self._changed.set()
        channel = self._channel_of(reader)
        if channel != reader.channel and reader.sends is not None:
            self._report_event(
                LinkFact.OTHER_SENSOR, where=reader.where, expected=reader.channel, sends=reader.sends.name
            )
        port = self._ports.get(reader.channel)
        if port is not None and port.name != reader.where:
            self._report_event(LinkFact.PORT_RENAMED, before=reader.where, now=port.name)
            reader.where = port.name
        if reader.channel in self._down_ns:
            down_ns, why = self._down_ns.pop(reader.channel)
            self._pending.mark(Mark("gap", down_ns, f"{channel}: {why}", reader.since_ns))
            # An empty message says that what came before and after do not join.
            self._take(channel, reader.since_ns, b"")

    def message(self, reader: ChannelReader, arrival: Arrival) -> None:
        if self._start_ns is not None and not self._ended:
            self._take(self._channel_of(reader), arrival.host_ns, arrival.data)

    def lost(self, reader: ChannelReader, event: LinkDown) -> None:
        self._down_ns[reader.channel] = (event.host_ns, event.error.what)
        if self._start_ns is not None:
            at_s = (event.host_ns - self._start_ns) * 1e-9
            self._events.append(link_lost(event.error, where=reader.where, at_s=at_s))

    # Connecting --------------------------------------------------------------------------------------

    def _reader(self, channel: str, streams: tuple[schema.StreamDescription, ...]) -> ChannelReader:
        link = streams[0].link
        if isinstance(link, schema.SerialLink):
            self._ports[channel] = self._register.follow(link.port)
        reconnection = Reconnection(
            link_opener(link, stream=streams[0].name, port=self._ports.get(channel)),
            back_off=self._patience.back_off,
            silence_s=self._patience.silence_s,
            first_silence_s=self._patience.first_silence_s,
        )
        others: list[schema.StreamDescription] = []
        if isinstance(link, schema.SerialLink):
            others = [
                stream
                for stream in self._rig.streams
                if isinstance(stream.link, schema.SerialLink) and stream not in streams
            ]
        return ChannelReader(channel, streams, others, reconnection, where=link_name(link))

    def _channel_of(self, reader: ChannelReader) -> str:
        """Channel of the sensor that is on the link now, unless another link has it already."""
        if reader.sends is None or reader.sends in reader.streams:
            return reader.channel
        channel = self._rig.channel_of(reader.sends.name)
        rightful = next(other for other in self._readers if other.channel == channel)
        return reader.channel if rightful.sends in rightful.streams else channel

    async def _connect(self, tasks: dict[asyncio.Task[None], ChannelReader]) -> None:
        """Wait until every sensor is recognised; if some fail, name them all."""
        if self._on_status is not None:
            self._on_status(RecordingStatus("connecting", 0.0, None))
        while not all(reader.connected or task.done() for task, reader in tasks.items()):
            self._changed.clear()
            waiter = asyncio.create_task(self._changed.wait())
            try:
                running = {task for task in tasks if not task.done()}
                await asyncio.wait({waiter, *running}, return_when=asyncio.FIRST_COMPLETED)
            finally:
                waiter.cancel()
        errors = [task.exception() for task in tasks if task.done()]
        failures = [error for error in errors if isinstance(error, LinkError)]
        for error in errors:
            if error is not None and not isinstance(error, LinkError):
                raise error
        if len(failures) == 1:
            raise failures[0]
        if failures:
            named = "; ".join(f"{error.where}: {error.what}" for error in failures)
            raise LinkError(named, reason=failures[0].reason, remedy=failures[0].remedy)

    # Recording ---------------------------------------------------------------------------------------

    async def _record(self, start_ns: int) -> RecordingSummary:
        if self._tare_s > 0:
            until_ns = start_ns + int(self._tare_s * 1e9)
            self._pending.mark(Mark("tare", start_ns, "", until_ns))
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
            end_ns = time.monotonic_ns()
            for channel, (down_ns, why) in self._down_ns.items():
                self._pending.mark(Mark("gap", down_ns, f"{channel}: {why}", end_ns))
            fault = fault or await self._pending.flush(writer)
            self._live.update(end_ns)
            healths = tuple(self._health(stream.name) for stream in self._rig.streams)
            if fault is None:
                fault = await writer.health(healths)
        fault = fault or writer.fault
        return RecordingSummary(self._path, (end_ns - start_ns) * 1e-9, healths, tuple(self._events), fault)

    def _is_over(self, start_ns: int) -> bool:
        if self._stop.is_set() or all(reader.ended for reader in self._readers):
            return True
        if self._duration_s is None:
            return False
        return time.monotonic_ns() - start_ns >= self._duration_s * 1e9

    def _take(self, channel: str, host_ns: int, data: bytes) -> None:
        if self._pending.message(Message(channel, host_ns, data)):
            self._live.take(channel, host_ns, data)
        else:
            self._live.drop(channel)

    def _health(self, name: str) -> StreamHealth:
        channel = self._rig.channel_of(name)
        reader = next(item for item in self._readers if item.channel == channel)
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
        rightful = next(item for item in self._readers if item.channel == channel)
        reader = next(
            (item for item in self._readers if item.connected and self._channel_of(item) == channel), rightful
        )
        return self._live.status(
            name,
            connected=reader.connected and self._channel_of(reader) == channel,
            backlog=reader.backlog + len(self._pending),
            dropped_before=rightful.dropped,
            trouble=reader.trouble,
        )

    def _report_event(self, kind: LinkFact, **figures: Figure) -> None:
        event = Fact(kind, Severity.NOTE, figures=figures)
        if event not in self._events:
            self._events.append(event)


async def record(
    rig: RigDescription,
    info: RecordingInfo,
    path: str | Path,
    *,
    duration_s: float | None = None,
    stop: asyncio.Event | None = None,
    tare_s: float = 3.0,
    overwrite: bool = False,
    on_status: Callable[[RecordingStatus], None] | None = None,
    patience: Patience | None = None,
) -> RecordingSummary:
    """Record a rig until `duration_s`, `stop`, Ctrl-C or a full disk ends it.

    See `Recorder` for the parameters and errors; use that class to set marks while recording. Serial
    ports called "auto" are found first; the rig that is kept with the recording names them.
    """
    rig = await find_ports(rig)
    info = replace(info, rig=rig)
    recorder = Recorder(
        rig,
        info,
        Path(path),
        duration_s=duration_s,
        tare_s=tare_s,
        overwrite=overwrite,
        on_status=on_status,
        patience=patience,
    )

    async def forward() -> None:
        if stop is not None:
            await stop.wait()
            recorder.stop()

    forwarder = asyncio.create_task(forward())
    try:
        with stopped_by_interrupt(recorder.stop):
            return await recorder.run()
    finally:
        forwarder.cancel()
        await asyncio.gather(forwarder, return_exceptions=True)
