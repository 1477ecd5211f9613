"""Words of the page that finds sensors and describes unknown ones."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.acquisition import Peripheral

HEADING: Final = "Find sensors"
PORTS: Final = "Serial ports"
NO_PORTS: Final = "None here. Plug a sensor in, then look again."
BLUETOOTH: Final = "Bluetooth"
LOOK: Final = "Look again"
SCAN: Final = "Look for Bluetooth sensors"
BLUETOOTH_HOW: Final = (
    "Tap one to listen to everything that it sends. Sensors that are told to send first, or that encrypt what they "
    "send, are not understood here: their stream description is written by hand."
)
NO_NAME: Final = "no name"
SCANNING: Final = "Looking for five seconds …"
NOBODY: Final = "No Bluetooth peripheral is in reach."
OTHER: Final = "Another address"
OTHER_HINT: Final = "a serial port, tcp://HOST:PORT, udp://:PORT or lsl://OUTLET"
BAUD: Final = "Speed of serial ports"
BAUD_HINT: Final = "baud; it stands in the sensor's manual"
LISTEN: Final = "Listen"
HOW: Final = "While it listens: pull on the cell, tilt the inertial sensor to and fro."
LISTENING: Final = "Listening: pull on the cell, tilt the sensor to and fro …"
HEARD: Final = "What arrives"
NAME: Final = "Name of the rig"
WRITE: Final = "Write the rig file"
FORGET: Final = "Leave it out"
COUNTS: Final = "Counts per newton"
COUNTS_HINT: Final = (
    "from the data sheets of cell and amplifier, such as 400; empty when a calibration certificate says it"
)
UNDERSTOOD: Final = "understood"
NOT_UNDERSTOOD: Final = "not understood"


_KINDS: Final[Mapping[str, str]] = {"force": "load cell", "inertial": "inertial sensor"}


def kind_word(kind: str) -> str:
    """What a stream is of."""
    return _KINDS[kind]


def values_text(values: dict[str, float]) -> str:
    """The newest values of a sensor."""
    return ", ".join(f"{column} {value:.5g}" for column, value in values.items())


def peripheral_text(found: Peripheral) -> str:
    """An advertising peripheral in a line."""
    weak = ", weak" if found.rssi_dbm < WEAK_DBM else ""
    return f"{found.address}, {found.rssi_dbm} dBm{weak}"


WEAK_DBM: Final = -85
"""Below it a link breaks now and then (common practice, no source)."""


def written_text(name: str) -> str:
    """A rig file was written."""
    return f"Written: {name}. Its comments say what was found and what is still to be said."
