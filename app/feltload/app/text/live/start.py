"""Words of the start page: what is measured, with what, and what is still missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from feltload.acquisition import AnyCertificate, RigDescription, StreamDescription
from feltload.app.text.numbers import listed
from feltload.calibration import Machine

HEADING: Final = "What is measured now?"
MACHINE: Final = "Machine"
NEW_MACHINE: Final = "Describe a machine"
NO_MACHINES: Final = "No machine file in this folder yet. Describing one takes two or three numbers."
SENSORS: Final = "Sensors"
EMULATED_SENSORS: Final = (
    "Emulated rig: an invented machine with an invented person on it. Nobody is measured."
)
NO_RIGS: Final = "No rig file in this folder yet."
FIND_SENSORS: Final = "Find sensors"
KIND: Final = "What is recorded"
LOAD: Final = "Load"
ABOUT: Final = "Load, arm and client"
LOAD_HINT: Final = (
    'what is loaded on the machine, such as "40 kg", "40.1(0.1) kg" or "90 lb"; "0 kg" for none'
)
SIDE: Final = "Arm"
CLIENT: Final = "Client's code"
CLIENT_HINT: Final = (
    "a code of letters and figures, no name; empty for none. Results and painful ranges are kept under it"
)
NO_CLIENT: Final = "No client"
NO_CLIENT_WHY: Final = "nothing is kept under a code"
RESULT: Final = "Measured profile"
NOT_MEASURED: Final = "This machine has no measured profile yet: record the machine itself first."
NO_CAPACITY: Final = "Without a capacity file there is no plan: help as agreed before the set."
NOTES: Final = "Note"
NOTES_HINT: Final = "kept with the recording"
BEGIN: Final = "Start recording"
STARTING: Final = "Starting: sensors and recorder …"
BEGIN_SURE: Final = "All of this is so: start recording"
READY_FOR_HOLDS: Final = (
    "Is the client warm and without pain, a partner beside the machine, are the stops set? "
    "Arm on its stop, hands off."
)
GO_TO_RUNNING: Final = "A recording is running: open it"
RUNS_ALONE: Final = "A recording runs without a page"
REJOIN: Final = "Go on with the recording that runs"
WATCH_ONLY: Final = "You are watching. Whoever controls this sets up the measurement."
SHARING: Final = "On a phone"
SHARING_HOW: Final = (
    "Point a phone at the square to watch. To take part, it asks for this code, which works once:"
)
NOT_ALLOWED: Final = "This session only watches, or it is over. Take part again with the code."

_KINDS: Final[Mapping[str, tuple[str, str]]] = {
    "machine": ("The machine", "rest, slow and brisk repetitions through the whole range"),
    "holds": ("Maximal holds", "what one person can produce, position by position, on stops"),
    "helped": ("A helped set", "how much a partner's hands give, and where"),
}
_SIDES: Final[Mapping[str, str]] = {"": "both, or there is one", "left": "left", "right": "right"}
_MISSING: Final[Mapping[str, str]] = {
    "machine": "a machine",
    "sensors": "the sensors",
    "load": "the load",
    "result": "a measured profile of this machine, which the positions of holds come from",
}


def runs_alone(recording: str) -> str:
    """A recording that nobody follows."""
    return f"{recording} is still being recorded; nothing of it is lost. Go on with it, and end it there."


def kind_words(kind: str) -> tuple[str, str]:
    """Name of a kind of recording, and what it is."""
    return _KINDS[kind]


def side_word(side: str) -> str:
    """An arm."""
    return _SIDES[side]


def missing_text(missing: Sequence[str]) -> str:
    """What has not been chosen; empty when everything has."""
    return "" if not missing else f"Still missing: {listed([_MISSING[one] for one in missing])}."


def machine_text(machine: Machine) -> str:
    """A machine file in a line."""
    parts = [rider.name for rider in machine.riders]
    return f"{machine.mechanism.kind}; {f'masses: {listed(parts)}' if parts else 'no masses: a profile only'}"


def capacity_title(client: str) -> str:
    """Whose a capacity is."""
    return f"Capacity of client {client}" if client else "Capacity, no code"


def certificate_text(certificate: AnyCertificate) -> str:
    """A certificate in a line."""
    serial = certificate.serial or "no serial number"
    return f"certificate of the {_KINDS_OF_SENSOR[certificate.kind]}, {serial}"


_KINDS_OF_SENSOR: Final[Mapping[str, str]] = {"force": "load cell", "inertial": "inertial sensor"}


def rig_text(rig: RigDescription) -> str:
    """A rig file in a line."""
    return listed([_stream_text(stream) for stream in rig.streams])


def _stream_text(stream: StreamDescription) -> str:
    return f"{stream.name} ({_KINDS_OF_SENSOR[stream.kind]}, {stream.link.type})"
