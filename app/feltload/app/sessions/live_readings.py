"""Raw readings of one load cell as they come in over its link."""

from __future__ import annotations

import asyncio
import contextlib
from collections import deque
from collections.abc import AsyncIterator, Sequence

import numpy as np

from feltload.acquisition import (
    Arrival,
    ChannelReader,
    LinkDown,
    Reconnection,
    RigDescription,
    StreamDescription,
    decode,
    find_ports,
    link_name,
    link_opener,
)
from feltload.app.errors import UsageError
from feltload.core import Floats

_KEPT_S = 1.0
_COLUMNS = {"counts": "force_counts", "mV/V": "force_mv_v"}


class LiveReadings:
    """Newest readings of a load cell; made by `live_readings`. Reports as the `Sink` of its link's reader.

    Attributes
    ----------
    trouble : str or None
        Why nothing comes in at present.
    """

    def __init__(self, stream: StreamDescription, siblings: Sequence[StreamDescription]) -> None:
        self.trouble: str | None = "waiting for the sensor"
        self._stream, self._siblings = stream, tuple(siblings)
        self._column = _COLUMNS[reading_unit(stream)]
        self._arrivals: deque[tuple[int, bytes]] = deque()
        self._given_s = -np.inf

    def ready(self, reader: ChannelReader) -> None:
        """The sensor sends."""
        self.trouble = None

    def message(self, reader: ChannelReader, arrival: Arrival) -> None:
        """Keep what arrived for as long as it takes to be fetched."""
        self._arrivals.append((arrival.host_ns, arrival.data))
        while arrival.host_ns - self._arrivals[0][0] > _KEPT_S * 1e9:
            self._arrivals.popleft()

    def lost(self, reader: ChannelReader, event: LinkDown) -> None:
        """The link is down: a frame that was cut does not join with what comes after."""
        self.trouble = event.error.what
        self._arrivals.clear()

    def fresh(self) -> tuple[Floats, Floats]:
        """Host times (s) and readings that came in since the last call."""
        frame = decode(list(self._arrivals), self._stream, siblings=self._siblings).frame
        if not len(frame):
            return np.zeros(0), np.zeros(0)
        time_s, reading = frame["host_s"].to_numpy(float), frame[self._column].to_numpy(float)
        new = time_s > self._given_s
        self._given_s = max(self._given_s, float(time_s[-1]))
        return time_s[new], reading[new]


def reading_unit(stream: StreamDescription) -> str:
    """Unit of a cell's raw readings: "counts" or "mV/V".

    Raises
    ------
    UsageError
        If the rig file scales them to a force already.
    """
    measured = stream.field("force")
    if measured is None or measured.unit not in _COLUMNS:
        raise UsageError(
            "the rig file scales this cell to a force already, so there is nothing to calibrate",
            where=f"stream {stream.name}",
            remedy='leave its unit at "counts" or "mV/V" (drop unit and scale from the rig file)',
        )
    return measured.unit


def force_stream(rig: RigDescription, name: str | None) -> StreamDescription:
    """The load cell of a rig, by its name where there are several.

    Raises
    ------
    UsageError
        None, or several and none named.
    """
    cells = [stream for stream in rig.streams if stream.kind == "force" and name in (None, stream.name)]
    if len(cells) != 1:
        names = ", ".join(stream.name for stream in rig.streams if stream.kind == "force") or "none"
        raise UsageError(
            "which load cell is to be calibrated is not clear" if cells else "there is no such load cell",
            where=rig.name,
            remedy=f"name one with --stream; the rig file has: {names}",
        )
    return cells[0]


@contextlib.asynccontextmanager
async def live_readings(rig: RigDescription, stream: StreamDescription) -> AsyncIterator[LiveReadings]:
    """Read one cell of a rig for as long as the block runs; lost links are opened again.

    Raises
    ------
    LinkError
        If the sensor does not connect the first time, stays silent or cannot be read.
    """
    alone = rig.model_copy(update={"streams": rig.channels()[rig.channel_of(stream.name)]})
    cell = (await find_ports(alone)).stream(stream.name)
    siblings = tuple(other for other in alone.streams if other.name != stream.name)
    readings = LiveReadings(cell, siblings)
    reader = ChannelReader(
        alone.channel_of(stream.name),
        [cell],
        [],
        Reconnection(link_opener(cell.link, stream=cell.name)),
        where=link_name(cell.link),
    )
    task = asyncio.create_task(reader.run(readings))
    try:
        while readings.trouble is not None:
            done, _ = await asyncio.wait({task}, timeout=0.05)
            if done:
                task.result()
        yield readings
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
