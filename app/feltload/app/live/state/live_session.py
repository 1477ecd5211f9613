"""A recording that runs, for the process of a page: start or join it, follow it, act on it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import suppress
from pathlib import Path
from typing import Self

from feltload.app.files.recordings import open_recording
from feltload.app.live.recorder.client import RecorderClient
from feltload.app.live.recorder.messages import Ended, Failed
from feltload.app.live.recorder.request import RecordingRequest, Request
from feltload.app.live.state.keeper import StateKeeper, Viewer
from feltload.app.running.moving import Update
from feltload.app.running.state import LiveState

DECODE_EVERY_S = 0.03
ZERO_AFTER_S = 3.0


class LiveSession:
    """One recording, or a replay, as the page's process sees it; `start` or `attach` makes it.

    Every viewer follows it by itself. Closing it leaves the recorder to go on; its `session_file` joins it again.

    Examples
    --------
    >>> live = await LiveSession.start(request)  # doctest: +SKIP
    >>> async for update in live.follow():  # doctest: +SKIP
    ...     if update.state is not None: show_everything(update.state)
    ...     show_what_moves(update.moving)
    """

    def __init__(self, client: RecorderClient, keeper: StateKeeper) -> None:
        self._client, self._keeper = client, keeper
        self._over = asyncio.Event()
        self._tasks = [asyncio.create_task(self._listen()), asyncio.create_task(self._decode())]

    @classmethod
    async def start(cls, request: Request) -> Self:
        """Start a recorder in a process of its own.

        Parameters
        ----------
        request : RecordingRequest or ReplayRequest

        Raises
        ------
        FeltloadError
            If the request is refused or the recorder does not start. A sensor that is missing shows later, as
            `LivePhase.FAILED` with `LiveState.trouble`.
        """
        return await cls._of(await RecorderClient.start(request))

    @classmethod
    async def attach(cls, session_file: Path) -> Self:
        """Join a recorder that runs; see `running_sessions`.

        Raises
        ------
        AppError
            If it runs no more.
        """
        return await cls._of(await RecorderClient.attach(session_file))

    @classmethod
    async def _of(cls, client: RecorderClient) -> Self:
        request = client.request
        if isinstance(request, RecordingRequest):
            return cls(client, StateKeeper(request.info, str(request.out), replayed=False))
        recording = await asyncio.to_thread(open_recording, request.recording)
        return cls(client, StateKeeper(recording.info, str(request.recording), replayed=True))

    @property
    def session_file(self) -> Path:
        """By which another process joins the same recorder."""
        return self._client.session

    @property
    def state(self) -> LiveState:
        """Everything, now."""
        return self._keeper.state

    async def follow(self, *, rate_hz: float = 30.0) -> AsyncIterator[Update]:
        """Updates for one viewer, from the whole state on, until the recording is over.

        A viewer that takes them more slowly gets fewer, and misses nothing that is still true: each has everything
        that changed since the one before.

        Parameters
        ----------
        rate_hz : float
            Updates per second at most.
        """
        viewer = Viewer()
        while True:
            yield self._keeper.update(viewer)
            if self.state.is_over and viewer.version == self.state.version:
                return
            await asyncio.sleep(1.0 / rate_hz)

    async def ended(self) -> LiveState:
        """Wait until nothing more comes."""
        await self._over.wait()
        return self.state

    # What people do -------------------------------------------------------------------------------

    async def go_on(self) -> None:
        """What the script asked for is so."""
        await self._client.go_on()

    async def pain(self, text: str = "") -> None:
        """The person reports pain: marked, and the script stops at once."""
        await self._client.mark("pain", text)

    async def hands_off(self) -> None:
        """Arm on its stop, hands off for 3 s from now: the zero afterwards."""
        await self._client.mark("zero-after", duration_s=ZERO_AFTER_S)

    async def knock(self) -> None:
        """The handle is knocked now."""
        await self._client.mark("knock")

    async def load_change(self, plates: str) -> None:
        """The load is changed, such as "40 kg: 20 + 20"; the profile takes a recording for each load."""
        await self._client.mark("load", plates)

    async def note(self, text: str, *, host_ns: int | None = None) -> None:
        """A note, of a moment before it was typed if `host_ns` (monotonic) says so."""
        await self._client.mark("note", text, host_ns=host_ns)

    async def stop(self) -> None:
        """End the recording and close its file."""
        await self._client.stop()

    async def abort(self) -> None:
        """End at once; while connecting, nothing is left behind."""
        await self._client.abort()

    async def close(self) -> None:
        """Follow no more; the recorder goes on."""
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        await self._client.close()

    # ------------------------------------------------------------------------------------------------

    async def _listen(self) -> None:
        async for event in self._client.events():
            if isinstance(event, Ended | Failed):
                # What arrived before belongs to it.
                self._keeper.decode()
            self._keeper.take(event)
        self._over.set()

    async def _decode(self) -> None:
        with suppress(asyncio.CancelledError):
            while not self._over.is_set():
                await asyncio.sleep(DECODE_EVERY_S)
                if self._keeper.decode():
                    await self._client.overloaded()
