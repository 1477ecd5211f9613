"""What goes over the recorder's socket: one JSON object a line, events out and commands in."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, ValidationError

from feltload.acquisition import RecordingStatus
from feltload.app.live.recorder.request import PLAIN, Request
from feltload.app.running.marked import Marked, Trouble
from feltload.app.scripts.moment import ScriptState
from feltload.core import Fact

LONGEST_LINE = 1 << 22
"""Bytes: an event may carry what arrived while a listener's own computer stood still."""
LONGEST_COMMAND = 1 << 14

# Events ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Began:
    """Every sensor sends; the recording counts from here.

    Attributes
    ----------
    start_ns : int
        Host time.
    """

    start_ns: int
    type: Literal["began"] = "began"


@dataclass(frozen=True)
class Arrived:
    """Bytes of one channel, as they are written.

    Attributes
    ----------
    channel : str
    first : int
        Number of the first message among all of the channel, from 0; a listener that was too slow finds a leap.
    messages : tuple of (host_ns, bytes)
        Empty bytes say that the link was opened again.
    """

    channel: str
    first: int
    messages: tuple[tuple[int, bytes], ...]
    type: Literal["arrived"] = "arrived"


@dataclass(frozen=True)
class Status:
    """State of every stream and of the script, a few times a second."""

    status: RecordingStatus
    script: ScriptState | None = None
    type: Literal["status"] = "status"


@dataclass(frozen=True)
class Welcome:
    """The first event of every listener: what has been so far.

    Attributes
    ----------
    request : RecordingRequest or ReplayRequest
    path : str
        File that grows, or that is replayed.
    start_ns : int or None
        Host time from which the recording counts; None while connecting.
    written : mapping of str to int
        Messages of each channel so far; they are in the file within a second.
    marks : tuple of Marked
    """

    request: Request
    path: str
    start_ns: int | None = None
    written: dict[str, int] = field(default_factory=dict)
    marks: tuple[Marked, ...] = ()
    type: Literal["welcome"] = "welcome"


@dataclass(frozen=True)
class Ended:
    """The recording is closed.

    Attributes
    ----------
    path : str
    duration_s : float
    facts : tuple of Fact
        What was not as it should be.
    fault : Trouble or None
        What ended it early, such as a full disk.
    """

    path: str
    duration_s: float
    facts: tuple[Fact, ...] = ()
    fault: Trouble | None = None
    type: Literal["ended"] = "ended"


@dataclass(frozen=True)
class Failed:
    """Nothing could be recorded, or the recorder is gone.

    Attributes
    ----------
    trouble : Trouble
    kept : str
        File that holds what was recorded before; empty when there is none.
    """

    trouble: Trouble
    kept: str = ""
    type: Literal["failed"] = "failed"


Event = Welcome | Began | Arrived | Marked | Status | Ended | Failed

# Commands -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SetMark:
    """Set a mark now, or at the host time given.

    Attributes
    ----------
    kind : str
        "knock", "load", "note", "pain", "tare", "zero-after", "field-check".
    text : str
        Free text; for "load" the new load, such as "40 kg: 20 + 20".
    duration_s : float, optional
        Length of the stretch that it covers.
    host_ns : int, optional
        Host's monotonic time at which it begins.
    """

    kind: Literal["knock", "load", "note", "pain", "tare", "zero-after", "field-check"]
    text: Annotated[str, Field(max_length=2000)] = ""
    duration_s: Annotated[float, Field(gt=0.0, le=60.0)] | None = None
    host_ns: int | None = None
    type: Literal["mark"] = "mark"


@dataclass(frozen=True)
class GoOn:
    """What the script asked for is so."""

    type: Literal["go-on"] = "go-on"


@dataclass(frozen=True)
class Overloaded:
    """A listener saw the rated capacity exceeded; the recorder itself looks twice a second."""

    type: Literal["overloaded"] = "overloaded"


@dataclass(frozen=True)
class Counted:
    """A listener that follows every sample counted repetitions; the recorder itself counts roughly."""

    repetitions: Annotated[int, Field(ge=0, le=10_000)]
    type: Literal["counted"] = "counted"


@dataclass(frozen=True)
class Stop:
    """End the recording and close its file."""

    type: Literal["stop"] = "stop"


@dataclass(frozen=True)
class Abort:
    """End at once; what was recorded is kept and marked with the note "aborted"."""

    type: Literal["abort"] = "abort"


Command = SetMark | GoOn | Overloaded | Counted | Stop | Abort

_EVENTS: TypeAdapter[Event] = TypeAdapter(Annotated[Event, Field(discriminator="type")], config=PLAIN)
_COMMANDS: TypeAdapter[Command] = TypeAdapter(Annotated[Command, Field(discriminator="type")], config=PLAIN)


def event_line(event: Event) -> bytes:
    """An event as it is sent."""
    return _EVENTS.dump_json(event) + b"\n"


def parse_event(line: bytes) -> Event:
    """Read an event.

    Raises
    ------
    ValueError
        If it is none.
    """
    return _EVENTS.validate_json(line)


def command_line(command: Command) -> bytes:
    """A command as it is sent."""
    return _COMMANDS.dump_json(command) + b"\n"


def parse_command(line: bytes) -> Command | None:
    """Read a command; None if it is none, which is passed over."""
    try:
        return _COMMANDS.validate_json(line)
    except ValidationError:
        return None
