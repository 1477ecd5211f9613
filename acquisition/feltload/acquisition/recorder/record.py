"""Records a rig in one call."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from feltload.acquisition.links.devices import find_ports
from feltload.acquisition.recorder.channel_reader import Patience
from feltload.acquisition.recorder.interrupts import stopped_by_interrupt
from feltload.acquisition.recorder.recorder import Recorder
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.status import RecordingStatus, RecordingSummary
from feltload.acquisition.wire.descriptions.schema import RigDescription

__all__ = ["record"]


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
