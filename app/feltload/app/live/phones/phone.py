"""One phone: what it sent lately, which convention it follows, how it is doing, and the stream that it makes."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable

import numpy as np

from feltload.acquisition import Recognition, StreamDescription, ToldMotion, recognise
from feltload.app.errors import UsageError
from feltload.app.live.phones.message import Message, line_of
from feltload.app.live.phones.relay import HOST, Relay
from feltload.app.running.phone import PhoneState

STREAM = "phone"
KEPT_S = 30.0
"""What the convention is recognised from: what was shaken before is forgotten."""
MOST_KEPT = 6000
SILENT_S = 2.0
RATE_S = 3.0
ALLOWED_HZ, ALLOWED_AT_ONCE = 400.0, 8000.0
"""Samples in the long run, and after an interruption."""


class Phone:
    """A phone that was let in.

    Parameters
    ----------
    name : str
        As pages show it.
    clock : callable
        Monotonic seconds.
    """

    def __init__(self, name: str, clock: Callable[[], float] = time.monotonic) -> None:
        self.name = name
        self.relay = Relay()
        self.sockets = 0
        self._clock = clock
        self._kept: deque[tuple[float, ...]] = deque(maxlen=MOST_KEPT)
        self._heard_s = self._posted_s = float("-inf")
        self._allowed, self._allowed_s = ALLOWED_AT_ONCE, clock()
        self._lost = self._refused = 0
        self._newest = -1.0
        self._recognition = Recognition()
        self._looked_at = -1.0

    @property
    def newest(self) -> int:
        """Number of the newest sample that was taken, -1 before there is any."""
        return int(self._newest)

    def take(self, message: Message) -> None:
        """Take a message: what is new in it goes to the recorder, and is kept for a while."""
        now_s = self._clock()
        self._allowed = min(self._allowed + ALLOWED_HZ * (now_s - self._allowed_s), ALLOWED_AT_ONCE)
        self._allowed_s = now_s
        self._lost = message.lost
        # A page that did not hear that they arrived sends some again.
        fresh = [sample for sample in message.samples if sample[0] > self._newest]
        taken = fresh[: int(self._allowed)]
        self._refused += len(fresh) - len(taken)
        self._allowed -= len(taken)
        if not taken:
            return
        self._heard_s, self._newest = now_s, taken[-1][0]
        self.relay.send(b"".join(map(line_of, taken)))
        up = message.up or (float("nan"),) * 3
        self._kept.extend((*sample, *up) for sample in taken)
        while self._kept[-1][1] - self._kept[0][1] > 1e3 * KEPT_S:
            self._kept.popleft()

    def posted(self, message: Message) -> None:
        """Take a message that came as a request of its own."""
        self._posted_s = self._clock()
        self.take(message)

    def started_again(self) -> None:
        """Its page was loaded again: it counts and stamps from the beginning."""
        self._newest = -1.0
        self._kept.clear()
        self._looked_at = -1.0

    def look(self) -> Recognition:
        """What is recognised by now; once determined it stays, for a browser does not change its mind."""
        if self._recognition.convention is None and self._newest != self._looked_at:
            self._looked_at = self._newest
            table = np.array(self._kept).reshape(-1, 12)
            self._recognition = recognise(
                ToldMotion(table[:, 1] * 1e-3, table[:, 2:5], table[:, 5:8], table[:, 9:12])
            )
        return self._recognition

    @property
    def state(self) -> PhoneState:
        """How it is doing now."""
        return PhoneState(
            self.sockets > 0 or self._clock() - self._posted_s < SILENT_S,
            self._clock() - self._heard_s < SILENT_S,
            self._rate_hz(),
            self._lost + self._refused,
            self.relay.has_reader,
            self._recognition,
        )

    async def stream(self) -> StreamDescription:
        """Its stream, as the recorder reads and keeps it.

        Raises
        ------
        UsageError
            It sends nothing, or its convention is not known.
        """
        state = self.state
        if not state.sending:
            raise UsageError(
                "the phone sends no motion",
                where=self.name,
                remedy="wake its screen, and tap to start on its page",
            )
        convention = self.look().convention
        if convention is None:
            raise UsageError(
                "how the phone tells its motion is not recognised yet",
                where=self.name,
                remedy="turn it as its page asks",
            )
        port = await self.relay.open()
        self.relay.begin()
        return convention.description(
            name=STREAM, host=HOST, port=port, start=self.relay.word, rate_hz=max(round(state.rate_hz), 1)
        )

    def _rate_hz(self) -> float:
        if len(self._kept) < 10:
            return float("nan")
        newest_ms = self._kept[-1][1]
        count, first_ms = 0, newest_ms
        for row in reversed(self._kept):
            if newest_ms - row[1] > 1e3 * RATE_S:
                break
            count, first_ms = count + 1, row[1]
        return 1e3 * (count - 1) / (newest_ms - first_ms) if newest_ms > first_ms else float("nan")
