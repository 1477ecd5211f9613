"""A listener to a recorder: starts one or joins one that runs, and hears everything that it writes, without a hole."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import suppress
from pathlib import Path
from typing import Self

from feltload.app.errors import AppError
from feltload.app.live.recorder.catching_up import in_order, messages_before
from feltload.app.live.recorder.messages import (
    LONGEST_LINE,
    Abort,
    Arrived,
    Command,
    Counted,
    Ended,
    Event,
    Failed,
    GoOn,
    Overloaded,
    SetMark,
    Stop,
    Welcome,
    command_line,
    parse_event,
)
from feltload.app.live.recorder.request import Request
from feltload.app.live.recorder.session_file import SessionFile, forget
from feltload.app.live.recorder.starting import start_recorder
from feltload.app.running.marked import Trouble


class RecorderClient:
    """One listener's connection; `start` or `attach` makes it.

    Attributes
    ----------
    session : Path
        Session file, by which another process joins the same recorder.
    request : Request
        What is recorded or replayed.
    path : Path
        The file that grows, or that is replayed.
    catching_up : bool
        While `events` gives what was before this listener.

    Examples
    --------
    >>> client = await RecorderClient.start(request)  # doctest: +SKIP
    >>> async for event in client.events(): ...  # doctest: +SKIP
    """

    def __init__(
        self, session: Path, welcome: Welcome, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        self.session = session
        self.request = welcome.request
        self.path = Path(welcome.path)
        self.catching_up = False
        self._welcome, self._reader, self._writer = welcome, reader, writer

    @classmethod
    async def start(cls, request: Request) -> Self:
        """Start a recorder in a process of its own, and listen to it.

        The process goes on when this one ends.

        Raises
        ------
        AppError
            If it does not start, or refuses the request.
        """
        return await cls.attach(await asyncio.to_thread(start_recorder, request))

    @classmethod
    async def attach(cls, session: Path) -> Self:
        """Listen to a recorder that runs.

        Raises
        ------
        AppError
            If it runs no more.
        """
        found = SessionFile.read(session)
        try:
            reader, writer = await asyncio.open_connection(found.host, found.port, limit=LONGEST_LINE)
            writer.write(json.dumps({"token": found.token}).encode() + b"\n")
            welcome = parse_event(await reader.readline())
        except (OSError, ValueError):
            # Its process is gone without a word; whoever looks next need not.
            forget(session)
            raise AppError(
                "the recorder runs no more; the file holds everything up to its last second",
                where=found.recording,
                remedy="profile it, or start a new recording",
            ) from None
        if not isinstance(welcome, Welcome):
            raise RuntimeError("a recorder greets first")
        return cls(session, welcome, reader, writer)

    async def events(self) -> AsyncIterator[Event]:
        """Everything from the beginning of the recording on, then as it comes; once.

        The first is `Welcome`, the last `Ended` or `Failed`. `Arrived` follow each other without a hole: what came
        before this listener, or while it was too slow, is read from the file. Marks of before are in `Welcome`.
        """
        yield self._welcome
        known: dict[str, int] = {}
        for channel, count in self._welcome.written.items():
            known[channel] = count
        before = {
            channel: await messages_before(self.path, channel, 0, count) for channel, count in known.items()
        }
        self.catching_up = True
        for part in in_order(before):
            yield part
        self.catching_up = False
        while True:
            event = await self._next()
            if isinstance(event, Arrived):
                heard = known.get(event.channel, 0)
                if event.first > heard:
                    missed = await messages_before(self.path, event.channel, heard, event.first)
                    yield Arrived(event.channel, heard, missed)
                known[event.channel] = event.first + len(event.messages)
            yield event
            if isinstance(event, Ended | Failed):
                return

    async def mark(
        self, kind: str, text: str = "", *, duration_s: float | None = None, host_ns: int | None = None
    ) -> None:
        """Set a mark; of kind "pain" the script stops at once, of "zero-after" (3 s) it goes on after the rest."""
        await self.send(SetMark(kind, text, duration_s, host_ns))  # type: ignore[arg-type]

    async def go_on(self) -> None:
        """What the script asked for is so."""
        await self.send(GoOn())

    async def overloaded(self) -> None:
        """The rated capacity was seen exceeded."""
        await self.send(Overloaded())

    async def counted(self, repetitions: int) -> None:
        """Tell how many repetitions were seen so far."""
        await self.send(Counted(repetitions))

    async def stop(self) -> None:
        """End the recording; `Ended` follows."""
        await self.send(Stop())

    async def abort(self) -> None:
        """End at once; while connecting, nothing is left behind."""
        await self.send(Abort())

    async def send(self, command: Command) -> None:
        """Send a command; when the recorder is gone, `events` says so."""
        with suppress(OSError):
            self._writer.write(command_line(command))
            await self._writer.drain()

    async def close(self) -> None:
        """Listen no more; the recording goes on."""
        self._writer.close()
        with suppress(OSError):
            await self._writer.wait_closed()

    async def _next(self) -> Event:
        with suppress(OSError, ValueError):
            line = await self._reader.readline()
            if line:
                return parse_event(line)
        kept = str(self.path) if self.path.exists() else ""
        forget(self.session)
        return Failed(
            Trouble(
                "the recorder stopped without a word",
                str(self.path),
                "the file holds everything up to its last second; profile it, or record again"
                if kept
                else "nothing was recorded; try again",
            ),
            kept,
        )
