"""Serial ports of this computer, and a board followed to the name it has after it was plugged in again."""

from __future__ import annotations

import os
import threading
from dataclasses import dataclass

from serial.tools import list_ports

from feltload.acquisition.errors import LinkError, LinkReason

__all__ = ["FollowedPort", "PortIdentity", "PortRegister", "SerialPort", "serial_ports"]


@dataclass(frozen=True)
class PortIdentity:
    """What tells one USB device from another, whatever name the system gives its port.

    Attributes
    ----------
    vendor, product : int
        USB identifiers of the kind of device.
    unit : str
        Its serial number; for a device without one, where on the bus it is plugged in.
    """

    vendor: int
    product: int
    unit: str

    def is_alike(self, other: PortIdentity | None) -> bool:
        """Whether both are devices of one kind."""
        return other is not None and (self.vendor, self.product) == (other.vendor, other.product)


@dataclass(frozen=True)
class SerialPort:
    """A serial port of this computer: its name, and what the system knows of the device."""

    name: str
    device: str
    identity: PortIdentity | None = None


def serial_ports() -> list[SerialPort]:
    """List the serial ports of this computer, USB ones first."""
    listed = sorted(list_ports.comports(), key=lambda port: (port.vid is None, port.device))
    ports = []
    for port in listed:
        unit = port.serial_number or port.location
        known = port.vid is not None and port.pid is not None and unit
        identity = PortIdentity(port.vid, port.pid, unit) if known else None
        ports.append(SerialPort(port.device, port.description or "", identity))
    return ports


class PortRegister:
    """The boards of one recording, so that none is treated as another when they come back under other names."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._followed: list[FollowedPort] = []

    def follow(self, name: str) -> FollowedPort:
        """Give the port of a name, to be opened by whatever name its board has later."""
        port = FollowedPort(name, self)
        with self._lock:
            self._followed.append(port)
        return port

    def others(self, port: FollowedPort) -> list[FollowedPort]:
        """Every other port that is followed."""
        with self._lock:
            return [other for other in self._followed if other is not port]


class FollowedPort:
    """A port that keeps to its board: by serial number, by its place on the bus, by being the only one of its kind.

    Parameters
    ----------
    name : str
        The port's name at first.
    register : PortRegister
        The other ports.

    Attributes
    ----------
    name : str
        Its name now.
    identity : PortIdentity or None
        None until it was first opened, and for ports that are no USB device.
    """

    def __init__(self, name: str, register: PortRegister) -> None:
        self.name = name
        self.identity: PortIdentity | None = None
        self._register = register

    def locate(self) -> str:
        """Name to open now; looks through the system's ports, which may take some milliseconds.

        Raises
        ------
        LinkError
            If another sensor's board has the name by now, and this one's is not plugged in.
        """
        ports = serial_ports()
        at_name = next((port for port in ports if _is_same(port.name, self.name)), None)
        if self.identity is None:
            self.identity = None if at_name is None else at_name.identity
            return self.name
        if at_name is not None and at_name.identity == self.identity:
            return self.name
        names = [port.name for port in ports if port.identity == self.identity]
        if not names:
            others = [other.identity for other in self._register.others(self)]
            free = [port for port in ports if port.identity not in others]
            # Another unit of the kind: without a serial number in another socket, or a board that replaces it.
            names = [port.name for port in free if self.identity.is_alike(port.identity)]
            if len(names) != 1:
                if at_name is not None and at_name not in free:
                    raise LinkError(
                        "the sensor is not plugged in, and its port's name belongs to another one now",
                        reason=LinkReason.NOT_FOUND,
                        where=self.name,
                        remedy="plug it in again",
                    )
                return self.name
        self.name = names[0]
        return self.name


def _is_same(name: str, other: str) -> bool:
    """Whether two names lead to one port: some are links to it."""
    return name == other or os.path.realpath(name) == os.path.realpath(other)
