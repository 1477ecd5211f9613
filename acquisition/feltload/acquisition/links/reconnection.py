"""Keeps a sensor connected: opens its link again after a loss, with back-off."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncGenerator, Callable
from dataclasses import dataclass

from feltload.acquisition.errors import LinkError
from feltload.acquisition.links.link import Arrival, Link, LinkDown, LinkUp
from feltload.acquisition.links.watchdog import next_arrival


@dataclass(frozen=True)
class BackOff:
    """Waiting times between attempts to connect again.

    Attributes
    ----------
    first_s : float
        Wait before the first attempt.
    factor : float
        Each further wait is this many times longer.
    longest_s : float
        No wait is longer. Attempts go on until the caller stops: an unplugged sensor may come back after
        minutes, and the other sensor keeps recording meanwhile.
    """

    first_s: float = 0.2
    factor: float = 1.6
    longest_s: float = 3.0

    def wait_s(self, attempt: int) -> float:
        """Wait before attempt number `attempt` (from 0), in seconds."""
        # The exponent is capped, since a day of attempts would overflow a float.
        return min(self.longest_s, self.first_s * self.factor ** min(attempt, 60))


class Reconnection:
    """A sensor's connection over the whole of a session, link after link.

    Parameters
    ----------
    open_link : callable
        Makes a new, unopened link.
    back_off : BackOff, optional
        Waits between attempts.
    silence_s : float
        A link that gives nothing for so long counts as lost, in seconds.
    first_silence_s : float, optional
        The same for the time until a fresh link first gives something; boards may take seconds to start.
    """

    def __init__(
        self,
        open_link: Callable[[], Link],
        *,
        back_off: BackOff | None = None,
        silence_s: float = 2.0,
        first_silence_s: float = 5.0,
    ) -> None:
        self._open_link = open_link
        self._back_off = back_off or BackOff()
        self._silence_s = silence_s
        self._first_silence_s = first_silence_s
        self._link: Link | None = None
        self._dropped_before = 0

    @property
    def backlog(self) -> int:
        """Arrivals received and not yet taken."""
        return 0 if self._link is None else self._link.backlog

    @property
    def dropped(self) -> int:
        """Arrivals thrown away since the start because a backlog was full."""
        return self._dropped_before + (0 if self._link is None else self._link.dropped)

    async def run(self) -> AsyncGenerator[Arrival | LinkDown | LinkUp, None]:
        """Give arrivals in order, with a `LinkDown` and a `LinkUp` around every gap.

        The first connection is not retried: someone waits in front of the screen, and a wrong port is
        better named at once. Close the generator (``contextlib.aclosing``) to close the link.

        Raises
        ------
        LinkError
            When the link does not open, or gives nothing, the first time.
        """
        attempts = 0
        connected_before = False
        while True:
            try:
                async with self._open_link() as link:
                    self._link = link
                    try:
                        arrival = await next_arrival(link, silence_s=self._first_silence_s, ever_sent=False)
                        if connected_before:
                            yield LinkUp(arrival.host_ns, attempts)
                        connected_before, attempts = True, 0
                        while True:
                            yield arrival
                            arrival = await next_arrival(link, silence_s=self._silence_s)
                    except StopAsyncIteration:
                        return
                    finally:
                        self._dropped_before += link.dropped
                        self._link = None
            except LinkError as error:
                if not connected_before:
                    raise
                if attempts == 0:
                    yield LinkDown(time.monotonic_ns(), error)
            await asyncio.sleep(self._back_off.wait_s(attempts))
            attempts += 1
