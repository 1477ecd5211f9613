"""Everyone who listens to a recorder: each with a queue of its own, so that none waits for another."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections import deque
from collections.abc import Callable
from contextlib import suppress

from feltload.app.live.recorder.messages import (
    LONGEST_COMMAND,
    Arrived,
    Command,
    Event,
    Status,
    Welcome,
    event_line,
    parse_command,
)

HOST = "127.0.0.1"
QUEUE_BYTES = 1 << 21
"""What waits for one listener at most: half a minute of two 1 kHz sensors."""
TOKEN_WITHIN_S = 5.0
LAST_WORDS_S = 5.0
MOST_LISTENERS = 32
COMMANDS_PER_S = 50.0


class Listeners:
    """The recorder's socket.

    Parameters
    ----------
    welcome : callable
        Gives what has been so far, for who comes now.
    command : callable
        Takes a command.
    """

    def __init__(self, welcome: Callable[[], Welcome], command: Callable[[Command], None]) -> None:
        self.token = secrets.token_urlsafe(32)
        self.port = 0
        self._welcome, self._command = welcome, command
        self._all: set[_Listener] = set()
        self._server: asyncio.Server | None = None
        self._tasks: set[asyncio.Task[None]] = set()
        self._joined = asyncio.Event()

    def __len__(self) -> int:
        return len(self._all)

    async def open(self) -> None:
        """Listen on a free port of this computer."""
        self._server = await asyncio.start_server(self._join, HOST, 0, limit=LONGEST_COMMAND)
        self.port = self._server.sockets[0].getsockname()[1]

    async def wait_for_one(self, seconds: float) -> None:
        """Wait until somebody listens, at most so long."""
        with suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._joined.wait()

    def send(self, event: Event) -> None:
        """Give an event to everyone; never waits."""
        if not self._all:
            return
        line = event_line(event)
        for listener in self._all:
            listener.put(line, event)

    async def close(self) -> None:
        """Let everyone read what is left for them, for some seconds, and close."""
        if self._server is not None:
            self._server.close()
        with suppress(TimeoutError):
            async with asyncio.timeout(LAST_WORDS_S):
                await asyncio.gather(*(listener.finished() for listener in self._all))
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def _join(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        if task is not None:
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)
        try:
            if len(self._all) < MOST_LISTENERS and await self._knows_token(reader):
                await self._serve(reader, writer)
        except (OSError, ValueError, asyncio.IncompleteReadError):
            # A listener that goes away or sends what is no line.
            pass
        finally:
            writer.close()

    async def _knows_token(self, reader: asyncio.StreamReader) -> bool:
        try:
            async with asyncio.timeout(TOKEN_WITHIN_S):
                said = json.loads(await reader.readline())
        except TimeoutError:
            return False
        token = said.get("token") if isinstance(said, dict) else None
        return isinstance(token, str) and secrets.compare_digest(token.encode(), self.token.encode())

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        listener = _Listener(writer)
        welcome = self._welcome()
        listener.put(event_line(welcome), welcome)
        self._all.add(listener)
        self._joined.set()
        sending = asyncio.create_task(listener.send())
        try:
            while line := await reader.readline():
                command = parse_command(line)
                if command is not None:
                    self._command(command)
                # Who sends faster is only slowed down.
                await asyncio.sleep(1.0 / COMMANDS_PER_S)
        finally:
            self._all.discard(listener)
            sending.cancel()
            await asyncio.gather(sending, return_exceptions=True)


class _Listener:
    """What waits for one listener: of samples so much, of states the newest."""

    def __init__(self, writer: asyncio.StreamWriter) -> None:
        self._writer = writer
        self._waiting: deque[tuple[bytes, Event]] = deque()
        self._bytes = 0
        self._some = asyncio.Event()
        self._empty = asyncio.Event()

    def put(self, line: bytes, event: Event) -> None:
        if isinstance(event, Status):
            self._drop(Status)
        elif isinstance(event, Arrived) and self._bytes + len(line) > QUEUE_BYTES:
            # It finds the leap and reads the file.
            self._drop(Arrived)
        self._waiting.append((line, event))
        self._bytes += len(line)
        self._empty.clear()
        self._some.set()

    async def send(self) -> None:
        """Send for ever."""
        while True:
            await self._some.wait()
            while self._waiting:
                line, _ = self._waiting.popleft()
                self._bytes -= len(line)
                self._writer.write(line)
                await self._writer.drain()
            self._some.clear()
            self._empty.set()

    async def finished(self) -> None:
        """Wait until everything was sent."""
        await self._empty.wait()

    def _drop(self, kind: type[Status] | type[Arrived]) -> None:
        kept = [(line, event) for line, event in self._waiting if not isinstance(event, kind)]
        self._bytes = sum(len(line) for line, _ in kept)
        self._waiting = deque(kept)
