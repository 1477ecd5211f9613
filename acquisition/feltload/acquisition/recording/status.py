"""What a running recording reports: state and health of every stream, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from feltload.acquisition.wire.health import StreamHealth
from feltload.core import Fact, FeltloadError


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
    trouble : Fact or None
        Why it is not connected, or brings nothing yet.
    """

    name: str
    connected: bool
    rate_hz: float
    health: StreamHealth
    latest: dict[str, float]
    overloaded: bool
    backlog: int
    trouble: Fact | None = None


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
    events : tuple of Fact
        What happened to the links, of kinds `LinkFact`.
    fault : FeltloadError or None
        What ended it early (a full disk); everything before it is in the file.
    """

    path: Path
    duration_s: float
    streams: tuple[StreamHealth, ...]
    events: tuple[Fact, ...] = ()
    fault: FeltloadError | None = None

    def facts(self) -> tuple[Fact, ...]:
        """Everything that was not as it should be, the fault apart."""
        return (*(fact for health in self.streams for fact in health.facts()), *self.events)
