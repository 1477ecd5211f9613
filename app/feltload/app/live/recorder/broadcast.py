"""What is recorded, told to every listener in small batches, with a memory of what went before for who comes late."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

from feltload.app.live.recorder.listeners import Listeners
from feltload.app.live.recorder.messages import Arrived, Began, Command, Event, Welcome
from feltload.app.live.recorder.request import Request
from feltload.app.running.marked import Marked

BATCH_S = 0.01
"""Bytes wait so long for others: a listener's work is per batch."""
MOST_MESSAGES = 2000
"""In one batch."""


class Broadcast:
    """Listens to the recorder (`RecorderListener`) and talks to the listeners.

    Parameters
    ----------
    request : Request
    path : str
        File that grows, or that is replayed.
    take : callable
        Takes a listener's command.
    """

    def __init__(self, request: Request, path: str, take: Callable[[Command], None]) -> None:
        self.listeners = Listeners(self._welcome, take)
        self._request, self._path = request, path
        self._start_ns: int | None = None
        self._fresh: dict[str, list[tuple[int, bytes]]] = {}
        self._sent: dict[str, int] = {}
        self._marks: list[Marked] = []

    @property
    def has_begun(self) -> bool:
        """Whether something is being recorded or replayed."""
        return self._start_ns is not None

    def began(self, start_ns: int) -> None:
        """The recording counts from here."""
        self._start_ns = start_ns
        self.listeners.send(Began(start_ns))

    def message(self, channel: str, host_ns: int, data: bytes) -> None:
        """Keep bytes for the next batch."""
        self._fresh.setdefault(channel, []).append((host_ns, data))

    def mark(self, kind: str, host_ns: int, text: str, until_ns: int | None) -> None:
        """Tell of a mark."""
        mark = Marked(kind, host_ns, text, until_ns)
        self._marks.append(mark)
        self.listeners.send(mark)

    def send(self, event: Event) -> None:
        """Tell everyone, after what arrived before."""
        self.flush()
        self.listeners.send(event)

    def flush(self) -> None:
        """Send what has arrived since."""
        for channel, fresh in self._fresh.items():
            for start in range(0, len(fresh), MOST_MESSAGES):
                part = tuple(fresh[start : start + MOST_MESSAGES])
                first = self._sent.get(channel, 0)
                self.listeners.send(Arrived(channel, first, part))
                self._sent[channel] = first + len(part)
            fresh.clear()

    async def run(self) -> None:
        """Send batches for ever."""
        while True:
            await asyncio.sleep(BATCH_S)
            self.flush()

    def _welcome(self) -> Welcome:
        # What is not yet sent would otherwise count as told and reach this listener as well.
        self.flush()
        return Welcome(self._request, self._path, self._start_ns, dict(self._sent), tuple(self._marks))
