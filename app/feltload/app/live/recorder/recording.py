"""Recording at a listener's request: the recorder, its script, and what listeners may ask of it."""

from __future__ import annotations

import asyncio
from contextlib import ExitStack
from dataclasses import replace

from feltload.acquisition import Recorder, RecordingStatus, find_ports, stopped_by_interrupt
from feltload.app.errors import AppError
from feltload.app.files.invented import with_replays_flagged
from feltload.app.files.outputs import claimed_file
from feltload.app.live.recorder.broadcast import Broadcast
from feltload.app.live.recorder.guidance import Guidance
from feltload.app.live.recorder.messages import (
    Abort,
    Command,
    Counted,
    Ended,
    GoOn,
    Overloaded,
    SetMark,
    Status,
    Stop,
)
from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.live.recorder.scripts import script_of
from feltload.app.running.marked import Trouble
from feltload.coaching import ClientFolder

ALONE_S, ALONE_EMULATED_S = 1800.0, 20.0
"""A recording that nobody listens to any more, and that has no planned end, ends after this long; the emulated rig has
nobody on it, and its port's name is soon another's."""


class LiveRecording:
    """One recording in this process.

    Parameters
    ----------
    request : RecordingRequest
    """

    def __init__(self, request: RecordingRequest) -> None:
        self._request = request
        self.broadcast = Broadcast(request, str(request.out), self._take)
        self._recorder: Recorder | None = None
        self._stopped = asyncio.Event()
        self._alone_since_s = 0.0
        self._alone_s = ALONE_EMULATED_S if request.info.rig.invented else ALONE_S
        self._guidance = Guidance(
            script_of(request.info, request.person), lambda text: self._mark("note", text)
        )

    async def run(self) -> Ended:
        """Record until stopped.

        Raises
        ------
        FeltloadError
            As `Recorder` raises; and when it was stopped before it began.
        """
        request = self._request
        folder = None if request.person.client is None else ClientFolder.open(request.person.client)
        with ExitStack() as stack:
            private = request.info.is_about_a_person
            stack.enter_context(claimed_file(request.out, overwrite=False, private=private))
            stack.enter_context(stopped_by_interrupt(self._stop))
            if folder is not None:
                # A recording that is killed is known too.
                folder = folder.announce_file(request.out)
            self._status(RecordingStatus("connecting", 0.0, None))
            rig = with_replays_flagged(await find_ports(request.info.rig))
            self._recorder = recorder = Recorder(
                rig,
                replace(request.info, rig=rig),
                request.out,
                duration_s=request.duration_s,
                tare_s=request.tare_s,
                on_status=self._status,
                listener=self.broadcast,
            )
            running = asyncio.create_task(recorder.run())
            stopping = asyncio.create_task(self._stopped.wait())
            await asyncio.wait({running, stopping}, return_when=asyncio.FIRST_COMPLETED)
            stopping.cancel()
            if not running.done() and not self.broadcast.has_begun:
                # Connecting may take for ever.
                running.cancel()
                await asyncio.gather(running, return_exceptions=True)
                raise AppError(
                    "stopped before every sensor sent",
                    remedy="nothing was recorded; start again when they do",
                )
            recorder.stop()
            summary = await running
        if folder is not None:
            folder.note_file(summary.path)
        fault = None if summary.fault is None else Trouble.of(summary.fault)
        return Ended(str(summary.path), summary.duration_s, summary.facts(), fault)

    def _take(self, command: Command) -> None:
        match command:
            case SetMark():
                text = (
                    self._guidance.position if command.kind == "pain" and not command.text else command.text
                )
                self._guidance.marked(command.kind, command.duration_s)
                self._mark(command.kind, text, duration_s=command.duration_s, host_ns=command.host_ns)
            case GoOn():
                self._guidance.go_on()
            case Overloaded():
                self._guidance.overload()
            case Counted():
                self._guidance.counted(command.repetitions)
            case Abort():
                self._mark("note", "aborted")
                self._stop()
            case Stop():
                self._stop()

    def _mark(
        self, kind: str, text: str = "", *, duration_s: float | None = None, host_ns: int | None = None
    ) -> None:
        if self._recorder is not None and self.broadcast.has_begun:
            self._recorder.mark(kind, text, duration_s=duration_s, host_ns=host_ns)

    def _stop(self) -> None:
        self._stopped.set()

    def _status(self, status: RecordingStatus) -> None:
        self.broadcast.send(Status(status, self._guidance.follow(status)))
        if len(self.broadcast.listeners):
            self._alone_since_s = status.elapsed_s
        elif self._request.duration_s is None and status.elapsed_s - self._alone_since_s > self._alone_s:
            self._stop()
