"""Serial port link: pyserial in a reader thread, handing over to the event loop.

Bytes are gathered for a few milliseconds per arrival: at 1 kHz an arrival per frame would make an hour of
recording millions of messages. The stamp is that of the last byte, so gathering delays nothing that is
later used for joining clocks.
"""

from __future__ import annotations

import asyncio
import contextlib
import errno
import threading
import time
from collections.abc import Callable
from types import TracebackType
from typing import Self

import serial

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.inbox import DEFAULT_CAPACITY, Inbox
from feltload.acquisition.links.link import Arrival

DEFAULT_GATHER_S = 0.008
_CLOSE_TIMEOUT_S = 2.0


class SerialLink:
    """A sensor on a serial port (USB or UART).

    Parameters
    ----------
    port : str
        Device path or name, or a URL that pyserial knows.
    baud : int
        Bits per second; USB serial ports ignore it.
    gather_s : float
        Seconds for which bytes are gathered into one arrival.
    capacity : int
        Arrivals held at most while the event loop is busy.
    locate : callable, optional
        Gives the port's name when it is opened, for a board that may come back under another one.
    """

    def __init__(
        self,
        port: str,
        baud: int = 115_200,
        *,
        locate: Callable[[], str] | None = None,
        gather_s: float = DEFAULT_GATHER_S,
        capacity: int = DEFAULT_CAPACITY,
    ) -> None:
        self._name = port
        self._baud = baud
        self._locate = locate
        self._gather_s = gather_s
        self._capacity = capacity
        self._inbox: Inbox | None = None
        self._thread: threading.Thread | None = None
        self._stopping = threading.Event()

    @property
    def where(self) -> str:
        """The port."""
        return self._name

    @property
    def backlog(self) -> int:
        """Arrivals received and not yet taken."""
        return 0 if self._inbox is None else self._inbox.backlog

    @property
    def dropped(self) -> int:
        """Arrivals thrown away because the backlog was full."""
        return 0 if self._inbox is None else self._inbox.dropped

    async def __aenter__(self) -> Self:
        # Opening may block for seconds on some USB drivers.
        port = await asyncio.to_thread(self._open)
        self._inbox = Inbox(self._capacity)
        self._thread = threading.Thread(
            target=self._read, args=(port, self._inbox), name=f"serial {self._name}", daemon=True
        )
        self._thread.start()
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stopping.set()
        if self._thread is not None:
            await asyncio.to_thread(self._thread.join, _CLOSE_TIMEOUT_S)

    def __aiter__(self) -> Self:
        return self

    async def __anext__(self) -> Arrival:
        if self._inbox is None:
            raise RuntimeError("a SerialLink is read inside `async with`")
        return await self._inbox.take()

    def _open(self) -> serial.SerialBase:
        if self._locate is not None:
            self._name = self._locate()
        return open_port(self._name, self._baud, timeout_s=self._gather_s)

    def _read(self, port: serial.SerialBase, inbox: Inbox) -> None:
        """Body of the reader thread; it alone touches the port, and closes it."""
        gather_ns = int(self._gather_s * 1e9)
        pieces: list[bytes] = []
        first_ns = last_ns = 0
        try:
            while not self._stopping.is_set():
                # Waits for one byte at most `gather_s`, then takes all that is there.
                piece = port.read(port.in_waiting or 1)
                now_ns = time.monotonic_ns()
                if piece:
                    if not pieces:
                        first_ns = now_ns
                    last_ns = now_ns
                    pieces.append(piece)
                if pieces and (not piece or now_ns - first_ns >= gather_ns):
                    inbox.put(Arrival(b"".join(pieces), last_ns))
                    pieces.clear()
        except (OSError, TypeError) as error:
            # A hung-up pty raises OSError from `in_waiting` and SerialException (an OSError) from
            # `read`; some drivers leave pyserial with a descriptor of None, hence TypeError.
            if pieces:
                inbox.put(Arrival(b"".join(pieces), last_ns))
            inbox.fail(
                LinkError(
                    f"the serial port was lost ({_reason_text(error)})",
                    reason=LinkReason.LOST,
                    where=self._name,
                    remedy="check the cable and the sensor's power",
                )
            )
        finally:
            with contextlib.suppress(OSError):
                port.close()


def open_port(name: str, baud: int, *, timeout_s: float) -> serial.SerialBase:
    """Open a serial port for this program alone.

    Parameters
    ----------
    name : str
        Device path or name.
    baud : int
        Bits per second.
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
    try:
        if "://" in name:
            return serial.serial_for_url(name, baud, timeout=timeout_s)
        return serial.Serial(name, baud, timeout=timeout_s, exclusive=True)
    except ValueError as error:
        raise LinkError(
            f"cannot be opened as a serial port ({_reason_text(error)})",
            reason=LinkReason.UNSUPPORTED,
            where=name,
            remedy="check the port's name and its baud rate",
        ) from error
    except OSError as error:
        raise _opening_error(name, error) from error


def _opening_error(name: str, error: OSError) -> LinkError:
    text = _reason_text(error)
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


def _reason_text(error: BaseException) -> str:
    return " ".join(str(error).split()) or type(error).__name__
