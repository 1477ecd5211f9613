"""Serial port link: pyserial, read in a thread."""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Callable

import serial

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.inbox import DEFAULT_CAPACITY
from feltload.acquisition.links.source import DEFAULT_GATHER_S, SourceLink, reason_text
from feltload.acquisition.wire.descriptions.link_config import SerialLinkConfig, command_bytes

__all__ = ["SerialLink", "open_port"]


class SerialLink(SourceLink):
    """A sensor on a serial port (USB or UART).

    Parameters
    ----------
    port : str
        Device path or name, or a URL that pyserial knows.
    baud : int
        Bits per second; USB serial ports ignore it.
    line : SerialLinkConfig, optional
        Speed, parity, lines and commands, in place of `baud`; its port is not used.
    locate : callable, optional
        Gives the port's name when it is opened, for a board that may come back under another one.
    gather_s : float
        Seconds for which bytes are gathered into one arrival.
    capacity : int
        Arrivals held at most while the event loop is busy.
    """

    def __init__(
        self,
        port: str,
        baud: int = 115_200,
        *,
        line: SerialLinkConfig | None = None,
        locate: Callable[[], str] | None = None,
        gather_s: float = DEFAULT_GATHER_S,
        capacity: int = DEFAULT_CAPACITY,
    ) -> None:
        self._line = line or SerialLinkConfig(baud=baud)
        self._locate = locate
        super().__init__(
            port,
            lost="the serial port was lost",
            remedy="check the cable and the sensor's power",
            start=command_bytes(self._line.start),
            stop=command_bytes(self._line.stop),
            gather_s=gather_s,
            capacity=capacity,
        )

    def open_source(self) -> SerialSource:
        """Open the port for this program alone."""
        if self._locate is not None:
            self._name = self._locate()
        return SerialSource(open_port(self._name, self._line, timeout_s=self._gather_s))


class SerialSource:
    """An open serial port as a source of bytes."""

    whole_messages = False

    def __init__(self, port: serial.SerialBase) -> None:
        self._port = port

    def read(self) -> bytes:
        """Wait for one byte for as long as the port was opened for, then take all that is there."""
        data: bytes = self._port.read(self._port.in_waiting or 1)
        return data

    def send(self, data: bytes) -> None:
        """Write to the port."""
        self._port.write(data)
        self._port.flush()

    def close(self) -> None:
        """Close the port."""
        with contextlib.suppress(OSError):
            self._port.close()


def open_port(name: str, line: SerialLinkConfig, *, timeout_s: float) -> serial.SerialBase:
    """Open a serial port for this program alone.

    Parameters
    ----------
    name : str
        Device path or name.
    line : SerialLinkConfig
        Speed, parity and the like.
    timeout_s : float
        Longest time one read waits, in seconds.

    Returns
    -------
    serial.SerialBase
        The open port.

    Raises
    ------
    LinkError
        Saying why it cannot be opened, with the `LinkReason`.
    """
    settings = {
        "baudrate": line.baud,
        "bytesize": line.bits,
        "parity": line.parity[0].upper(),
        "stopbits": line.stop_bits,
        "timeout": timeout_s,
    }
    try:
        port = serial.serial_for_url(name, do_not_open=True, **settings)
        if "://" not in name:
            port.exclusive = True
        # Set before it is opened: a board that restarts on these lines would do so otherwise.
        if line.rts is not None:
            port.rts = line.rts
        if line.dtr is not None:
            port.dtr = line.dtr
        port.open()
        return port
    except ValueError as error:
        raise LinkError(
            f"cannot be opened as a serial port ({reason_text(error)})",
            reason=LinkReason.UNSUPPORTED,
            where=name,
            remedy="check the port's name and its baud rate",
        ) from error
    except OSError as error:
        raise _opening_error(name, error) from error


def _opening_error(name: str, error: OSError) -> LinkError:
    text = reason_text(error)
    # Windows gives no errno, only the text of the system's error.
    if error.errno in (errno.ENOENT, errno.ENODEV, errno.ENXIO) or "FileNotFoundError" in text:
        return LinkError(
            "no such serial port",
            reason=LinkReason.NOT_FOUND,
            where=name,
            remedy="plug the sensor in; `feltload devices` lists the ports there are",
        )
    if error.errno == errno.EACCES and "PermissionError" not in text:
        return LinkError(
            "no permission to open the serial port",
            reason=LinkReason.PERMISSION,
            where=name,
            remedy="add yourself to the group that owns the port (often `dialout`) and log in again",
        )
    if error.errno in (errno.EBUSY, errno.EAGAIN) or "PermissionError" in text:
        return LinkError(
            "the serial port is in use by another program",
            reason=LinkReason.BUSY,
            where=name,
            remedy="close the other program (a serial monitor, another recording) and try again",
        )
    return LinkError(
        f"the serial port cannot be opened ({text})",
        reason=LinkReason.UNSUPPORTED,
        where=name,
        remedy="check that it is a serial port; `feltload devices` lists the ports there are",
    )
