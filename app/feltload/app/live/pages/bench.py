"""What all pages share: the folder, the choices, what runs, and whom they are served to."""

from __future__ import annotations

import asyncio
from contextlib import AsyncExitStack, suppress
from dataclasses import dataclass, field
from pathlib import Path

from nicegui import ui

from feltload.app.errors import UsageError
from feltload.app.files.recordings import open_recording
from feltload.app.live.outcomes.results import Results
from feltload.app.live.phones.hub import Phones
from feltload.app.live.phones.joined import GivenPhone, given_phone
from feltload.app.live.recorder.request import RecordingRequest, ReplayRequest
from feltload.app.live.server.guard import token_of
from feltload.app.live.server.sessions import Role, Sessions
from feltload.app.live.setup.choices import Choices
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.live.sources.emulated import emulated_source
from feltload.app.live.state.live_session import LiveSession
from feltload.app.running.state import LivePhase
from feltload.app.sessions.script_choice import PreparedScript
from feltload.app.text.numbers import load_text
from feltload.calibration import Machine, parse_machine
from feltload.coaching import ClientFolder
from feltload.signal import Travel

EMULATED_LOAD = "40 kg"
EMULATED_MACHINE = "emulated-row.toml"
CLOSING_S = 10.0
LOAD_STEP_KG = 5.0
"""Loads are suggested in such steps."""


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
    phone_address : str
        Address that lets a phone in as a sensor, without its key; empty when nothing is shared.
    phones : Phones
        Those that were let in.
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
    results : Results
        What became of recordings, of this machine and of others in the folder.
    """

    folder: WorkingFolder
    sessions: Sessions
    cookie: str
    emulated: bool = False
    shared_at: str = ""
    fingerprint: str = ""
    phone_address: str = ""
    phones: Phones = field(default_factory=Phones)
    choices: Choices = field(default_factory=Choices)
    live: LiveSession | None = None
    request: RecordingRequest | ReplayRequest | None = None
    machine: Machine | None = None
    along: Travel | None = None
    plan: tuple[str, ...] = ()
    has_plan: bool = False
    results: Results = field(init=False)
    _machine_text: str | None = None
    _tasks: set[asyncio.Task[None]] = field(default_factory=set)
    _rigs: int = 0
    _rig: AsyncExitStack = field(default_factory=AsyncExitStack)

    def __post_init__(self) -> None:
        self.results = Results(self.folder)

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
        painful = await asyncio.to_thread(self._painful)
        if not self.emulated:
            phone = await self._phone()
            return await asyncio.to_thread(self.choices.prepare, self.folder, painful, phone)
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
                person=self.choices.person(self.folder, painful),
                seed=self._rigs,
            )
        )
        return source.request, source.prepared

    async def _phone(self) -> GivenPhone | None:
        """The phone that was chosen as the inertial sensor.

        Raises
        ------
        UsageError
            It sends nothing, or its convention is not recognised.
        """
        if not self.choices.phone:
            return None
        phone = self.phones.known.get(self.choices.phone)
        if phone is None:
            raise UsageError(
                "this phone is not there any more", where=self.choices.phone, remedy="choose another sensor"
            )
        return await given_phone(phone)

    def _painful(self) -> tuple[str, ...]:
        """What hurts the person at hand, of whom no code is known, on the chosen machine."""
        machine = self.folder.machines().get(self.choices.machine)
        return () if machine is None else self.results.pain.texts(machine.name)

    async def record(self, request: RecordingRequest) -> None:
        """Record what was prepared.

        Raises
        ------
        FeltloadError
            The recorder does not start, or another recording runs.
        """
        if request.person.client is not None:
            await self.results.keep_pain(request.person.client)
        await self.begin(request)
        if request.person.client is not None:
            ClientFolder.open(request.person.client).announce_file(request.out)

    async def begin(self, request: RecordingRequest | ReplayRequest) -> None:
        """Start recording or replaying; one at a time."""
        await self._make_room()
        await self._take(await LiveSession.start(request))

    async def rejoin(self, session: Path) -> None:
        """Go on with a recording that runs without a page.

        Raises
        ------
        AppError
            It runs no more.
        """
        await self._make_room()
        await self._take(await LiveSession.attach(session))

    async def _make_room(self) -> None:
        if self.is_recording:
            raise UsageError("a recording is running", where="start", remedy="end it first")
        if self.live is not None:
            await self.live.close()

    async def _take(self, live: LiveSession) -> None:
        """Follow it from now on."""
        text = await asyncio.to_thread(_machine_text_of, live.request)
        if text != self._machine_text:
            self.results.forget_machine()
        self._machine_text = text
        self.machine = None if text is None else parse_machine(text, "machine")
        prepared = live.prepared
        self.along, self.plan = prepared.along, prepared.lines
        self.has_plan = prepared.help_plan is not None
        self.live, self.request = live, live.request
        task = asyncio.create_task(self._when_ended(live))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _when_ended(self, live: LiveSession) -> None:
        """Make a result of a closed recording; of a machine, together with those of its machine before it."""
        state = await live.ended()
        request = self.request
        if state.phase is not LivePhase.ENDED or not isinstance(request, RecordingRequest):
            return
        path = Path(state.path)
        if request.person.client is not None:
            ClientFolder.open(request.person.client).note_file(path)
        stem = Path(self.choices.machine).stem or "result"
        await self.results.of_recording(path, state.kind, stem, request.person)

    def other_load(self) -> str:
        """A load to measure beside the one of before: a lighter one, which asks nothing new of anybody."""
        measured_kg = self.request.info.load_kg if isinstance(self.request, RecordingRequest) else None
        if not measured_kg:
            return ""
        return load_text(LOAD_STEP_KG * round(0.5 * measured_kg / LOAD_STEP_KG))

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
        await self.phones.close()
        await self._rig.aclose()


def _machine_text_of(request: RecordingRequest | ReplayRequest) -> str | None:
    if isinstance(request, RecordingRequest):
        return request.info.machine_toml
    return open_recording(request.recording).info.machine_toml
