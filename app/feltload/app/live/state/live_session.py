"""A recording that runs, for the process of a page: start or join it, follow it, act on it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Coroutine
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Self

from feltload.app.errors import AppError
from feltload.app.files.recordings import open_recording
from feltload.app.live.estimating.jobs import ResultMade
from feltload.app.live.estimating.worker import Worker
from feltload.app.live.recorder.client import RecorderClient
from feltload.app.live.recorder.messages import Ended, Failed
from feltload.app.live.recorder.request import RecordingRequest, Request
from feltload.app.live.state.estimates import Estimates
from feltload.app.live.state.keeper import StateKeeper, Viewer
from feltload.app.running.marked import Trouble
from feltload.app.running.moving import Update
from feltload.app.running.state import LiveState
from feltload.app.sessions.script_choice import PreparedScript, prepare_script

DECODE_EVERY_S = 0.02
UNHEARD_S = 0.25
"""A viewer is told so often that time passes, though nothing arrives."""
ZERO_AFTER_S = 3.0


class LiveSession:
    """One recording, or a replay, as the page's process sees it; `start` or `attach` makes it.

    Every viewer follows it by itself. Closing it leaves the recorder to go on; its `session_file` joins it again.

    Attributes
    ----------
    prepared : PreparedScript
        Cautions, the partner's plan, and what positions are said as parts of.

    Examples
    --------
    >>> live = await LiveSession.start(request)  # doctest: +SKIP
    >>> async for update in live.follow():  # doctest: +SKIP
    ...     if update.state is not None: show_everything(update.state)
    ...     show_what_moves(update.moving)
    """

    def __init__(
        self,
        client: RecorderClient,
        keeper: StateKeeper,
        prepared: PreparedScript,
        earlier: tuple[Path, ...],
    ) -> None:
        self.prepared = prepared
        self._client, self._keeper, self._earlier = client, keeper, earlier
        self._over = asyncio.Event()
        self._arrived = asyncio.Event()
        # Set, and replaced, whenever there is something new for viewers.
        self._fresh = asyncio.Event()
        self._worker = Worker() if keeper.state.kind == "machine" else None
        self._tasks = [
            asyncio.create_task(self._guarded(self._listen())),
            asyncio.create_task(self._guarded(self._decode())),
        ]
        self._assessed = asyncio.Event()
        if self._worker is None:
            self._assessed.set()
        else:
            estimates = Estimates(keeper, self._worker, client.path, earlier)
            self._tasks.append(asyncio.create_task(self._assess(estimates)))

    @classmethod
    async def start(cls, request: Request, *, earlier: tuple[Path, ...] = ()) -> Self:
        """Start a recorder in a process of its own.

        Parameters
        ----------
        request : RecordingRequest or ReplayRequest
        earlier : tuple of Path
            Recordings of the same machine with other loads, which the profile is made of as well.

        Raises
        ------
        FeltloadError
            If the request is refused or the recorder does not start. A sensor that is missing shows later, as
            `LivePhase.FAILED` with `LiveState.trouble`.
        """
        return await cls._of(await RecorderClient.start(request), earlier)

    @classmethod
    async def attach(cls, session_file: Path, *, earlier: tuple[Path, ...] = ()) -> Self:
        """Join a recorder that runs; see `running_sessions`. `earlier` as in `start`.

        Raises
        ------
        AppError
            If it runs no more.
        """
        return await cls._of(await RecorderClient.attach(session_file), earlier)

    @classmethod
    async def _of(cls, client: RecorderClient, earlier: tuple[Path, ...]) -> Self:
        request = client.request
        if isinstance(request, RecordingRequest):
            info = request.info
        else:
            info = (await asyncio.to_thread(open_recording, request.recording)).info
        # A recording of before the kinds were asked for is of a machine.
        info = replace(info, kind=info.kind or "machine")
        prepared = await asyncio.to_thread(partial(prepare_script, info, request.person, profile_alone=True))
        replayed = not isinstance(request, RecordingRequest)
        keeper = StateKeeper(info, str(client.path), replayed=replayed, prepared=prepared)
        return cls(client, keeper, prepared, earlier)

    @property
    def request(self) -> Request:
        """What is recorded or replayed."""
        return self._client.request

    @property
    def session_file(self) -> Path:
        """By which another process joins the same recorder."""
        return self._client.session

    @property
    def state(self) -> LiveState:
        """Everything, now."""
        return self._keeper.state

    async def follow(self, *, rate_hz: float = 30.0) -> AsyncIterator[Update]:
        """Updates for one viewer, from the whole state on, until the recording is over and the estimator has spoken.

        A viewer that takes them more slowly gets fewer, and misses nothing that is still true: each has everything
        that changed since the one before.

        Parameters
        ----------
        rate_hz : float
            Updates per second at most.
        """
        viewer, clock = Viewer(), asyncio.get_running_loop()
        due_s = clock.time()
        while True:
            fresh = self._fresh
            yield self._keeper.update(viewer)
            if self._is_last and viewer.version == self.state.version:
                return
            # By the clock: what an update itself takes would be lost from the rate.
            due_s = max(due_s + 1.0 / rate_hz, clock.time())
            await asyncio.sleep(due_s - clock.time())
            with suppress(TimeoutError):
                async with asyncio.timeout(UNHEARD_S):
                    await fresh.wait()

    async def ended(self) -> LiveState:
        """Wait until nothing more comes."""
        await self._over.wait()
        return self.state

    async def make_result(self, directory: Path, *, side: str | None = None) -> ResultMade:
        """Measure the machine from what was recorded, earlier loads included, and write the folder of the result.

        Raises
        ------
        AppError
            One line that says why there is none.
        """
        if self._worker is None:
            raise AppError(
                "a recording of a person gives no profile of the machine",
                where=self.state.path,
                remedy="give it to `feltload client`",
            )
        state = await self.ended()
        if state.trouble is not None and not state.path:
            raise state.trouble.error()
        return await self._worker.make_result((*self._earlier, self._client.path), directory, side=side)

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
        if self._worker is not None:
            await self._worker.close()
        await self._client.close()

    # ------------------------------------------------------------------------------------------------

    @property
    def _is_last(self) -> bool:
        return self.state.is_over and self._assessed.is_set()

    async def _assess(self, estimates: Estimates) -> None:
        try:
            await estimates.run()
        finally:
            self._assessed.set()

    async def _guarded(self, work: Coroutine[None, None, None]) -> None:
        """Work whose failure viewers are told of: the recording does not depend on what is shown of it."""
        try:
            await work
        except Exception as error:
            said = Trouble.of(error)
            self._keeper.take(
                Failed(
                    Trouble(
                        f"the recording cannot be shown any more: {said.what}",
                        said.where,
                        "it goes on; join it again, or end it and profile its file",
                    ),
                    str(self._client.path),
                )
            )
            self._over.set()

    async def _listen(self) -> None:
        async for event in self._client.events():
            if isinstance(event, Ended | Failed):
                # What arrived before belongs to it.
                self._keeper.decode()
            self._keeper.take(event)
            if self._client.catching_up:
                # Piece by piece, as it came: all at once would be too much for the hinge, and for who waits.
                self._keeper.decode()
                await asyncio.sleep(0)
            self._arrived.set()
        self._over.set()

    async def _decode(self) -> None:
        counted = 0
        with suppress(asyncio.CancelledError):
            while not self._over.is_set():
                await self._arrived.wait()
                self._arrived.clear()
                overloaded = self._keeper.decode()
                self._fresh.set()
                self._fresh = asyncio.Event()
                if overloaded:
                    await self._client.overloaded()
                if self._keeper.repetitions > counted:
                    counted = self._keeper.repetitions
                    await self._client.counted(counted)
                await asyncio.sleep(DECODE_EVERY_S)
