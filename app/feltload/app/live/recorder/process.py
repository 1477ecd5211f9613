"""The recorder's process: takes a request from its standard input, and serves until the recording is closed."""

from __future__ import annotations

import asyncio
import json
import os
import sys
from contextlib import suppress
from dataclasses import asdict
from typing import Protocol

from feltload.app.live.recorder.broadcast import Broadcast
from feltload.app.live.recorder.listeners import HOST
from feltload.app.live.recorder.messages import Ended, Failed
from feltload.app.live.recorder.recording import LiveRecording
from feltload.app.live.recorder.request import RecordingRequest, Request, parse_request
from feltload.app.live.recorder.session_file import SessionFile
from feltload.app.running.marked import Trouble

FIRST_LISTENER_S = 10.0
"""What fails at once waits so long for who asked for it."""


class _Work(Protocol):
    broadcast: Broadcast

    async def run(self) -> Ended: ...


def _work(request: Request) -> _Work:
    if isinstance(request, RecordingRequest):
        return LiveRecording(request)
    # Slow to import: a recording should not wait for it.
    from feltload.app.live.recorder.replaying import LiveReplay

    return LiveReplay(request)


async def serve(request: Request) -> None:
    """Do what is asked, with listeners; says on standard output where it listens."""
    work = _work(request)
    broadcast = work.broadcast
    await broadcast.listeners.open()
    path = str(request.out if isinstance(request, RecordingRequest) else request.recording)
    session = SessionFile(HOST, broadcast.listeners.port, broadcast.listeners.token, os.getpid(), path)
    file = session.write()
    batches = asyncio.create_task(broadcast.run())
    try:
        _say({"session": str(file)})
        await broadcast.listeners.wait_for_one(FIRST_LISTENER_S)
        try:
            last: Ended | Failed = await work.run()
        except Exception as error:
            # Whatever it is, whoever listens is told; the file is closed by then.
            kept = path if broadcast.has_begun else ""
            last = Failed(Trouble.of(error), kept)
        broadcast.send(last)
    finally:
        batches.cancel()
        file.unlink(missing_ok=True)
        await broadcast.listeners.close()


def main() -> int:
    """Run the process; 0, or 2 with one line of JSON that says what is wrong with the request."""
    try:
        request = parse_request(sys.stdin.buffer.read())
    except ValueError as error:
        _say({"trouble": asdict(Trouble(f"cannot read what to record ({error})"))})
        return 2
    try:
        asyncio.run(serve(request))
    except Exception as error:
        _say({"trouble": asdict(Trouble.of(error))})
        return 2
    return 0


def _say(line: dict[str, object]) -> None:
    # Who started it may be gone.
    with suppress(OSError):
        print(json.dumps(line), flush=True)
