"""Links that a thread reads: a port, a socket, a program's output; bytes are handed over to the event loop.

Bytes are gathered for a few milliseconds per arrival: at 1 kHz an arrival per frame would make an hour of
recording millions of messages. The stamp is that of the last byte, so gathering delays nothing that is
later used for joining clocks.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from types import TracebackType
from typing import Protocol, Self

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.inbox import DEFAULT_CAPACITY, Inbox
from feltload.acquisition.links.link import Arrival

__all__ = ["DEFAULT_GATHER_S", "ByteSource", "SourceLink", "reason_text"]

DEFAULT_GATHER_S = 0.008
_CLOSE_TIMEOUT_S = 2.0


class ByteSource(Protocol):
    """What a thread reads bytes from."""

    whole_messages: bool
    """Each read is a message of its own, such as a datagram."""

    def read(self) -> bytes:
        """Wait a few milliseconds at most for bytes; nothing is empty.

        Raises
        ------
        LinkError, OSError
            If the source is lost.
        """

    def send(self, data: bytes) -> None:
        """Send a command to the sensor."""

    def close(self) -> None:
        """Close it; always succeeds."""


class SourceLink:
    """A link that reads a source in a thread; what the source is, a subclass says in `open_source`.

    Parameters
    ----------
    where : str
        Port or address, as shown to a person.
    lost, remedy : str
        What is said when the source is lost.
    start, stop : bytes
        Sent once it is open, and before it is closed.
    gather_s : float
        Seconds for which bytes are gathered into one arrival.
    capacity : int
        Arrivals held at most while the event loop is busy.
    """

    def __init__(
        self,
        where: str,
        *,
        lost: str,
        remedy: str,
        start: bytes = b"",
        stop: bytes = b"",
        gather_s: float = DEFAULT_GATHER_S,
        capacity: int = DEFAULT_CAPACITY,
    ) -> None:
        self._name = where
        self._lost, self._remedy = lost, remedy
        self._start, self._stop = start, stop
        self._gather_s = gather_s
        self._capacity = capacity
        self._inbox: Inbox | None = None
        self._thread: threading.Thread | None = None
        self._stopping = threading.Event()

    def open_source(self) -> ByteSource:
        """Open the source; may block for seconds.

        Raises
        ------
        LinkError
        """
        raise NotImplementedError

    @property
    def where(self) -> str:
        """Port or address."""
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
        source = await asyncio.to_thread(self._opened)
        self._inbox = Inbox(self._capacity)
        self._thread = threading.Thread(
            target=self._read, args=(source, self._inbox), name=f"link {self._name}", daemon=True
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
            raise RuntimeError(f"a {type(self).__name__} is read inside `async with`")
        return await self._inbox.take()

    def _opened(self) -> ByteSource:
        source = self.open_source()
        if self._start:
            try:
                source.send(self._start)
            except OSError as error:
                source.close()
                raise self._loss(error) from error
        return source

    def _read(self, source: ByteSource, inbox: Inbox) -> None:
        """Body of the reader thread; it alone reads the source, and closes it."""
        gather_ns = int(self._gather_s * 1e9)
        pieces: list[bytes] = []
        first_ns = last_ns = 0
        try:
            while not self._stopping.is_set():
                piece = source.read()
                now_ns = time.monotonic_ns()
                if piece and source.whole_messages:
                    inbox.put(Arrival(piece, now_ns))
                    continue
                if piece:
                    if not pieces:
                        first_ns = now_ns
                    last_ns = now_ns
                    pieces.append(piece)
                if pieces and (not piece or now_ns - first_ns >= gather_ns):
                    inbox.put(Arrival(b"".join(pieces), last_ns))
                    pieces.clear()
        except (LinkError, OSError, TypeError) as error:
            # A hung-up pty raises OSError from `in_waiting` and SerialException (an OSError) from
            # `read`; some drivers leave pyserial with a descriptor of None, hence TypeError.
            if pieces:
                inbox.put(Arrival(b"".join(pieces), last_ns))
            inbox.fail(error if isinstance(error, LinkError) else self._loss(error))
        finally:
            if self._stop:
                with contextlib.suppress(OSError, TypeError):
                    source.send(self._stop)
            source.close()

    def _loss(self, error: BaseException) -> LinkError:
        return LinkError(
            f"{self._lost} ({reason_text(error)})",
            reason=LinkReason.LOST,
            where=self._name,
            remedy=self._remedy,
        )


def reason_text(error: BaseException) -> str:
    """What an error of the system says, in one line."""
    return " ".join(str(error).split()) or type(error).__name__
