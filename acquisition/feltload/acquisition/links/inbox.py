"""Bounded hand-over of arrivals from a reader thread or a callback to the event loop."""

from __future__ import annotations

import asyncio
import threading
from collections import deque

from feltload.acquisition.errors import LinkError
from feltload.acquisition.links.link import Arrival

DEFAULT_CAPACITY = 4096
"""Arrivals held at most: half a minute of a serial sensor, at 100 arrivals a second or more."""


class Inbox:
    """Arrivals on their way to the event loop.

    When the loop stalls for longer than the capacity lasts, the newest arrivals are thrown away and
    counted: memory stays bounded and what is kept is contiguous. Made inside a running loop.

    Parameters
    ----------
    capacity : int
        Arrivals held at most.
    """

    def __init__(self, capacity: int = DEFAULT_CAPACITY) -> None:
        self._loop = asyncio.get_running_loop()
        self._lock = threading.Lock()
        self._arrivals: deque[Arrival] = deque()
        self._capacity = capacity
        self._failure: LinkError | None = None
        self._ended = False
        self._ready = asyncio.Event()
        self._dropped = 0

    @property
    def backlog(self) -> int:
        """Arrivals not yet taken."""
        return len(self._arrivals)

    @property
    def dropped(self) -> int:
        """Arrivals thrown away because the inbox was full."""
        return self._dropped

    def put(self, arrival: Arrival) -> None:
        """Add an arrival; from any thread."""
        with self._lock:
            if self._ended:
                return
            if len(self._arrivals) >= self._capacity:
                self._dropped += 1
                return
            self._arrivals.append(arrival)
            wake = len(self._arrivals) == 1
        if wake:
            self._wake()

    def fail(self, error: LinkError) -> None:
        """Raise `error` to the reader once everything before it was taken; from any thread."""
        with self._lock:
            if self._failure is None and not self._ended:
                self._failure = error
                self._ended = True
        self._wake()

    def _wake(self) -> None:
        # A loop that closed meanwhile has nobody left to wake.
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._ready.set)

    async def take(self) -> Arrival:
        """Wait for the next arrival; raises the failure once the arrivals before it are gone."""
        while True:
            with self._lock:
                if self._arrivals:
                    return self._arrivals.popleft()
                if self._failure is not None:
                    raise self._failure
                self._ready.clear()
            await self._ready.wait()
