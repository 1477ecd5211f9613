"""Passes a phone's lines on to the recorder, over a socket of this computer, as a sensor on the network sends them."""

from __future__ import annotations

import asyncio
import hmac
import secrets
from contextlib import suppress

HOST = "127.0.0.1"
ASKING_S = 10.0
HELD_BYTES = 1_000_000
"""A reader that has so much to catch up with is gone; for one that opens its link again so much is kept."""


class Relay:
    """One phone's lines for whoever knows the word; a recorder comes and goes.

    Attributes
    ----------
    word : str
        What a reader sends first, with its line end: others on this computer get nothing.
    """

    def __init__(self) -> None:
        self.word = f"{secrets.token_hex(12)}\n"
        self._server: asyncio.Server | None = None
        self._readers: set[asyncio.StreamWriter] = set()
        # A recorder that hears nothing for a while opens its link again: what comes just then is not lost.
        self._held: bytearray | None = None

    async def open(self) -> int:
        """Its port."""
        if self._server is None:
            self._server = await asyncio.start_server(self._ask, HOST, 0)
        return int(self._server.sockets[0].getsockname()[1])

    @property
    def has_reader(self) -> bool:
        """Whether a recorder takes the lines."""
        return bool(self._readers)

    def begin(self) -> None:
        """A recording begins: what came before is not its own."""
        self._held = None

    def send(self, lines: bytes) -> None:
        """Give lines to whoever reads now, or to the one that comes back."""
        if not self._readers and self._held is not None and len(self._held) + len(lines) <= HELD_BYTES:
            self._held += lines
        for reader in list(self._readers):
            if reader.is_closing() or reader.transport.get_write_buffer_size() > HELD_BYTES:
                self._forget(reader)
            else:
                reader.write(lines)

    async def close(self) -> None:
        """Send nothing more."""
        for reader in list(self._readers):
            self._forget(reader)
        if self._server is not None:
            self._server.close()

    async def _ask(self, incoming: asyncio.StreamReader, outgoing: asyncio.StreamWriter) -> None:
        said = b""
        with suppress(TimeoutError, OSError, ValueError, asyncio.IncompleteReadError):
            async with asyncio.timeout(ASKING_S):
                said = await incoming.readline()
        if not hmac.compare_digest(said, self.word.encode()):
            outgoing.close()
            return
        # A line may have lost its beginning when a link opens: an empty one may.
        outgoing.write(b"\n" + (self._held or b""))
        self._held = None
        self._readers.add(outgoing)
        with suppress(OSError):
            # Nothing more is asked; this notices that the reader is gone.
            while await incoming.read(1024):
                pass
        self._forget(outgoing)

    def _forget(self, reader: asyncio.StreamWriter) -> None:
        if reader in self._readers:
            self._readers.remove(reader)
            self._held = bytearray()
        reader.close()
