"""What a running recording tells: state and health of every stream, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from feltload.acquisition.wire.health import StreamHealth
from feltload.core import FeltloadError


@dataclass(frozen=True)
class StreamStatus:
    """One stream of a running recording.

    Attributes
    ----------
    name : str
    connected : bool
        False between a loss of the link and its return.
    rate_hz : float
        Samples per second over the last half second; NaN until known.
    health : StreamHealth
        Counts since the start.
    latest : dict of str to float
        Last value of each measured column (``force_n``, ``gyro_x_rad_s`` ...); empty without samples.
    overloaded : bool
        The rated capacity was exceeded within the last half second.
    backlog : int
        Messages that arrived and are not yet written.
    trouble : str or None
        Why it is not connected.
    """

    name: str
    connected: bool
    rate_hz: float
    health: StreamHealth
    latest: dict[str, float]
    overloaded: bool
    backlog: int
    trouble: str | None = None


@dataclass(frozen=True)
class RecordingStatus:
    """A running recording.

    Attributes
    ----------
    phase : {"connecting", "tare", "recording"}
        During "tare" nobody may touch the handle.
    elapsed_s : float
        Since the recording started; 0 while connecting.
    remaining_s : float or None
        Until the tare window ends ("tare"), or until the planned end.
    streams : tuple of StreamStatus
        Empty while connecting.
    """

    phase: Literal["connecting", "tare", "recording"]
    elapsed_s: float
    remaining_s: float | None
    streams: tuple[StreamStatus, ...] = ()


@dataclass(frozen=True)
class RecordingSummary:
    """A finished recording.

    Attributes
    ----------
    path : Path
    duration_s : float
    streams : tuple of StreamHealth
    notes : tuple of str
        What happened to the links, in plain sentences.
    fault : FeltloadError or None
        What ended it early (a full disk); everything before it is in the file.
    """

    path: Path
    duration_s: float
    streams: tuple[StreamHealth, ...]
    notes: tuple[str, ...] = ()
    fault: FeltloadError | None = field(default=None)

    def warnings(self) -> list[str]:
        """Plain sentences about everything that is not as it should be."""
        lines = [line for health in self.streams for line in health.warnings()]
        return [*lines, *self.notes, *([str(self.fault)] if self.fault is not None else [])]
