"""What the recorder's process is asked to do."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pydantic import ConfigDict, TypeAdapter

from feltload.acquisition import RecordingInfo
from feltload.app.options import NOBODY, PersonOptions

PLAIN = ConfigDict(ser_json_bytes="base64", val_json_bytes="base64", ser_json_inf_nan="constants")
"""How dataclasses cross between processes: bytes as base64, NaN as NaN."""


@dataclass(frozen=True)
class RecordingRequest:
    """Record the sensors of a rig.

    Attributes
    ----------
    info : RecordingInfo
        Rig, load, side, kind and machine file, as they are kept with the recording.
    out : Path
        File to write; must not exist.
    tare_s : float
        Hands-off rest at the start; 0 for none.
    duration_s : float, optional
        Recorded time; without it, until a listener stops it.
    person : PersonOptions
        What holds or a helped set go by.
    """

    info: RecordingInfo
    out: Path
    tare_s: float = 3.0
    duration_s: float | None = None
    person: PersonOptions = NOBODY


@dataclass(frozen=True)
class ReplayRequest:
    """Send what a recording holds as if it arrived now; nothing is written.

    Attributes
    ----------
    recording : Path
    speed : float
        1 for the recorded timing, 4 for four times as fast.
    person : PersonOptions
        What holds or a helped set go by.
    """

    recording: Path
    speed: float = 1.0
    person: PersonOptions = NOBODY


Request = RecordingRequest | ReplayRequest

_ADAPTER: TypeAdapter[Request] = TypeAdapter(Request, config=PLAIN)


def request_json(request: Request) -> bytes:
    """The request as it is handed to the process."""
    return _ADAPTER.dump_json(request)


def parse_request(data: bytes) -> Request:
    """Read it back.

    Raises
    ------
    ValueError
        If it is none.
    """
    return _ADAPTER.validate_json(data)
