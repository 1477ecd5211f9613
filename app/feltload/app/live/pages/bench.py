"""What all pages share: the folder, the choices, what runs, and whom they are served to."""

from __future__ import annotations

import asyncio
from contextlib import AsyncExitStack, suppress
from dataclasses import dataclass, field
from pathlib import Path

from nicegui import ui

from feltload.app.errors import UsageError
from feltload.app.files.recordings import open_recording
from feltload.app.live.recorder.request import RecordingRequest, ReplayRequest
from feltload.app.live.server.guard import token_of
from feltload.app.live.server.sessions import Role, Sessions
from feltload.app.live.setup.choices import Choices
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.live.setup.outcome import Outcome, profile_recordings
from feltload.app.live.sources.emulated import emulated_source
from feltload.app.live.state.live_session import LiveSession
from feltload.app.next_steps.after import next_step
from feltload.app.running.state import LivePhase
from feltload.app.sessions.script_choice import PreparedScript
from feltload.calibration import Machine, parse_machine
from feltload.coaching import ClientFolder
from feltload.core import FeltloadError
from feltload.signal import Travel

EMULATED_LOAD = "40 kg"
EMULATED_MACHINE = "emulated-row.toml"
CLOSING_S = 10.0


@dataclass
class Bench:
    """One running `feltload live`.

    Attributes
    ----------
    folder : WorkingFolder
    sessions : Sessions
    cookie : str
        Name of the session's cookie.
    emulated : bool
        Whether the sensors are emulated.
    shared_at : str
        Address that opens the pages to watch on another device; empty when nothing is shared.
    fingerprint : str
        Of the certificate that it is served with; empty when nothing is shared.
    choices : Choices
        For the next recording.
    live : LiveSession or None
        What is recorded or replayed, or was last.
    request : RecordingRequest or ReplayRequest or None
        What it was asked for.
    machine : Machine or None
        Its machine.
    along : Travel or None
        What positions of holds are said as parts of.
    plan : tuple of str
        Lines that stay in view, such as a partner's plan.
    has_plan : bool
        Whether help is planned by position.
    recordings : list of Path
        Closed recordings of the machine, for one result.
    outcome : Outcome or None
        The newest result.
    estimating : bool
        Whether one is being made.
    trouble : str
        Why there is none.
    next_command : str
        What makes something of a recording of a person.
    """

    folder: WorkingFolder
    sessions: Sessions
    cookie: str
    emulated: bool = False
    shared_at: str = ""
    fingerprint: str = ""
    choices: Choices = field(default_factory=Choices)
    live: LiveSession | None = None
    request: RecordingRequest | ReplayRequest | None = None
    machine: Machine | None = None
    along: Travel | None = None
    plan: tuple[str, ...] = ()
    has_plan: bool = False
    recordings: list[Path] = field(default_factory=list)
    outcome: Outcome | None = None
    estimating: bool = False
    trouble: str = ""
    next_command: str = ""
    _machine_text: str | None = None
    _tasks: set[asyncio.Task[None]] = field(default_factory=set)
    _rigs: int = 0
    _rig: AsyncExitStack = field(default_factory=AsyncExitStack)

    def role(self) -> Role:
        """What the person at the page at hand may do now."""
        return self.sessions.role(token_of(ui.context.client.request.headers, self.cookie))

    def may_control(self) -> bool:
        """Whether that person may change anything."""
        return self.role() is Role.CONTROL

    @property
    def is_recording(self) -> bool:
        """Whether something is recorded or replayed at this moment."""
        return self.live is not None and not self.live.state.is_over

    async def prepare(self) -> tuple[RecordingRequest, PreparedScript]:
        """The recording that was chosen, and what is said before it; an emulated rig is started for it.

        Raises
        ------
        FeltloadError
            Something chosen cannot be used.
        """
        if not self.emulated:
            return await asyncio.to_thread(self.choices.prepare, self.folder)
        if self.choices.machine != EMULATED_MACHINE:
            raise UsageError(
                f"the emulated sensors are on {EMULATED_MACHINE}",
                where=self.choices.machine,
                remedy="choose that one",
            )
        await self._rig.aclose()
        self._rigs += 1
        source = await self._rig.enter_async_context(
            emulated_source(
                self.folder.free_name(self.choices.stem, ".mcap"),
                kind=self.choices.kind,
                load=self.choices.load,
                person=self.choices.person(self.folder),
                seed=self._rigs,
            )
        )
        return source.request, source.prepared

    async def record(self, request: RecordingRequest, prepared: PreparedScript) -> None:
        """Record what was prepared.

        Raises
        ------
        FeltloadError
            The recorder does not start, or another recording runs.
        """
        await self.begin(request, prepared)
        if request.person.client is not None:
            ClientFolder.open(request.person.client).announce_file(request.out)

    async def begin(
        self, request: RecordingRequest | ReplayRequest, prepared: PreparedScript | None = None
    ) -> None:
        """Start recording or replaying; one at a time."""
        if self.is_recording:
            raise UsageError("a recording is running", where="start", remedy="end it first")
        if self.live is not None:
            await self.live.close()
        text = await asyncio.to_thread(_machine_text_of, request)
        if text != self._machine_text:
            self.recordings, self.outcome = [], None
        self._machine_text = text
        self.machine = None if text is None else parse_machine(text, "machine")
        self.along, self.plan, self.has_plan = None, (), False
        if prepared is not None:
            self.along, self.plan, self.has_plan = (
                prepared.along,
                prepared.lines,
                prepared.help_plan is not None,
            )
        live = await LiveSession.start(request)
        self.live, self.request, self.trouble, self.next_command = live, request, "", ""
        task = asyncio.create_task(self._when_ended(live))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _when_ended(self, live: LiveSession) -> None:
        """Make a result of a closed recording of a machine, together with those of its machine before it."""
        state = await live.ended()
        request = self.request
        if state.phase is not LivePhase.ENDED or not isinstance(request, RecordingRequest):
            return
        path = Path(state.path)
        if request.person.client is not None:
            ClientFolder.open(request.person.client).note_file(path)
        if state.kind != "machine":
            step = next_step(("record",), {"out": path, "kind": state.kind, "person": request.person}, 0)
            self.next_command = "" if step is None else step.command
            return
        self.estimating, self.trouble = True, ""
        try:
            paths = [*(one for one in self.recordings if one.exists()), path]
            stem = Path(self.choices.machine).stem or "result"
            self.outcome = await asyncio.to_thread(profile_recordings, self.folder, paths, stem)
            self.recordings = paths
        except FeltloadError as error:
            self.trouble = str(error)
        finally:
            self.estimating = False

    async def close(self) -> None:
        """Follow nothing more. A recording goes on by itself; an emulated one or a replay has nothing to go on with."""
        is_real = not self.emulated and isinstance(self.request, RecordingRequest)
        if self.live is not None and self.is_recording and not is_real:
            await self.live.stop()
            with suppress(TimeoutError):
                await asyncio.wait_for(self.live.ended(), CLOSING_S)
        for task in self._tasks:
            task.cancel()
        if self.live is not None:
            await self.live.close()
        await self._rig.aclose()


def _machine_text_of(request: RecordingRequest | ReplayRequest) -> str | None:
    if isinstance(request, RecordingRequest):
        return request.info.machine_toml
    return open_recording(request.recording).info.machine_toml
