"""The start page: machine, sensors, load and kind of the next recording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from nicegui import ui

from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Plain, paragraph, section
from feltload.app.live.pages.finding.phone_parts import PhonePicks
from feltload.app.live.pages.going_on import GoingOn
from feltload.app.live.pages.shell import Page, certificate_steps, inside
from feltload.app.live.pages.unkept import UnkeptPain
from feltload.app.live.server.sessions import spaced
from feltload.app.live.setup.choices import KINDS, SIDES
from feltload.app.live.setup.contents import measured_machines, strengths
from feltload.app.live.setup.running import Running, recordings_that_run
from feltload.app.sessions.script_choice import PreparedScript
from feltload.app.text.cautions import BEFORE_LOADING, CAUTIONS
from feltload.app.text.live import start as words
from feltload.app.text.live.going_on import in_a_line


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/")
    def start(ready: bool = False) -> None:
        with Page(bench, words.HEADING, "/", classes="two") as page:
            if page.controls:
                _Start(page).build(ready=ready)
            else:
                paragraph(words.WATCH_ONLY, "wide")


class _Start:
    """The page of one person at it."""

    def __init__(self, page: Page) -> None:
        self.page, self.bench = page, page.bench
        self._groups: dict[str, Plain] = {}
        self._asked = False

    def build(self, *, ready: bool) -> None:
        """Everything to choose, what is missing, and the button; what is there comes after it where all is `ready`."""
        if self.bench.is_recording:
            Plain("a", words.GO_TO_RUNNING, "act main wide", {"href": "/measure"})
        else:
            for running in recordings_that_run():
                self._offer(running)
        UnkeptPain(self.page).show()
        if not ready:
            GoingOn(self.page).build(says_next=True)
        with section(words.MACHINE):
            self._group("machine")
            Plain("a", words.NEW_MACHINE, "act", {"href": "/machine"})
        with section(words.SENSORS):
            self._group("rig")
            self._group("certificates")
            if not self.bench.emulated:
                PhonePicks(self.page, lambda name: self._choose(phone=name))
                Plain("a", words.FIND_SENSORS, "act", {"href": "/sensors"})
        with section(words.KIND):
            self._group("kind")
            self._group("result")
            self._group("capacity")
        with section(words.ABOUT):
            self._fields()
        with Plain("section", classes="part wide"):
            for caution in BEFORE_LOADING:
                paragraph(caution, "caution")
            self._ahead = Plain("div", classes="inner", attributes={"role": "status"})
            self._missing = Plain("p", attributes={"aria-live": "polite"})
            self._begin = self.page.act(words.BEGIN, self._start_recording, "act main")
        self._sharing()
        if ready:
            GoingOn(self.page).build(says_next=False)
        self._refresh()

    def _offer(self, running: Running) -> None:
        """A recording whose page was closed."""

        async def rejoin() -> None:
            await self.bench.rejoin(running.session)
            ui.navigate.to("/measure")

        with section(words.RUNS_ALONE).classes("wide"):
            paragraph(words.runs_alone(running.recording.name))
            self.page.act(words.REJOIN, rejoin, "act main")

    def _group(self, name: str) -> None:
        self._groups[name] = Plain("div", classes="picks")

    def _fields(self) -> None:
        now = self.bench.choices
        self._load = self.page.field(
            words.LOAD, now.load, lambda text: self._choose(load=text), hint=words.LOAD_HINT
        )
        self.page.field(
            words.SIDE,
            now.side,
            lambda text: self._choose(side=text),
            choices=[(side, words.side_word(side)) for side in SIDES],
        )
        self._group("client")
        self._code = self.page.field(
            words.CLIENT, now.client, lambda text: self._choose(client=text.strip()), hint=words.CLIENT_HINT
        )
        self.page.field(words.NOTES, now.notes, lambda text: self._choose(notes=text), hint=words.NOTES_HINT)

    def _choose(self, **changed: Any) -> None:
        self.bench.choices = replace(self.bench.choices, **changed)
        self._asked = False
        self._ahead.clear()
        self._begin.say(words.BEGIN)
        self._refresh()

    def _refresh(self) -> None:
        """Show what is there and what is chosen."""
        folder = self.bench.folder
        machines = {
            name: (machine.name, words.machine_text(machine)) for name, machine in folder.machines().items()
        }
        rigs = {name: (name, words.rig_text(rig)) for name, rig in folder.rigs().items()}
        if self.bench.emulated:
            rigs = {}
        self._choose_the_only(machine=machines, rig=rigs)
        self._picks("machine", machines, words.NO_MACHINES)
        self._picks("rig", rigs, words.EMULATED_SENSORS if self.bench.emulated else words.NO_RIGS)
        self._load.complain(self.bench.choices.load_trouble())
        self._certificates()
        self._picks("kind", {kind: words.kind_words(kind) for kind in KINDS}, "")
        self._person(machines)
        missing = self.bench.choices.missing(emulated=self.bench.emulated)
        self._missing.say(words.missing_text(missing))
        self._begin.attribute("disabled", True if missing else None)

    def _choose_the_only(self, **options: Mapping[str, object]) -> None:
        """Where only one can be meant, it is."""
        for name, found in options.items():
            if len(found) == 1 and not getattr(self.bench.choices, name):
                only: dict[str, Any] = {name: next(iter(found))}
                self.bench.choices = replace(self.bench.choices, **only)

    def _person(self, machines: dict[str, tuple[str, str]]) -> None:
        """What a recording of a person goes by: a measured profile of the machine, and a capacity on it."""
        folder = self.bench.folder
        now = self.bench.choices
        machine = machines.get(now.machine, ("", ""))[0]
        measured = [one for one in measured_machines(folder) if one.machine == machine]
        needed = now.kind != "machine"
        results = (
            {one.name: (words.RESULT, in_a_line((*one.loads, one.day, one.name))) for one in measured}
            if needed
            else {}
        )
        if now.result not in results:
            self.bench.choices = replace(now, result="")
        self._choose_the_only(result=results)
        self._picks("result", results, words.NOT_MEASURED if needed else "")
        helped = now.kind == "helped"
        suits = [one for one in strengths(folder) if one.machine == machine] if helped else []
        capacities = {
            one.name: (words.capacity_title(one.client), in_a_line((one.side or "", one.day, one.name)))
            for one in suits
        }
        if self.bench.choices.capacity not in capacities:
            self.bench.choices = replace(self.bench.choices, capacity="")
        self._picks("capacity", capacities, words.NO_CAPACITY if helped else "")
        codes = {code: (code, "") for code in folder.clients()}
        self._picks("client", {"": (words.NO_CLIENT, words.NO_CLIENT_WHY), **codes} if codes else {}, "")
        self._code.show_value(self.bench.choices.client)

    def _picks(self, name: str, options: dict[str, tuple[str, str]], nothing: str) -> None:
        chosen = getattr(self.bench.choices, name)
        with inside(self._groups[name]):
            if not options and nothing:
                paragraph(nothing)
            for value, (title, text) in options.items():
                self._pick(name, value, chosen == value, title, text)

    def _certificates(self) -> None:
        found = {} if self.bench.emulated else self.bench.folder.certificates()
        with inside(self._groups["certificates"]):
            for name, certificate in found.items():
                self._certificate(name, words.certificate_text(certificate))

    def _certificate(self, name: str, text: str) -> None:
        chosen = self.bench.choices.certificates

        def choose() -> None:
            others = tuple(other for other in chosen if other != name)
            self._choose(certificates=others if name in chosen else (*chosen, name))

        with self.page.act("", choose, "pick", aria_pressed=str(name in chosen).lower()):
            Plain("b", name)
            Plain("span", text, "small")

    def _pick(self, name: str, value: str, chosen: bool, title: str, text: str) -> None:
        def choose() -> None:
            self._choose(**{name: value})

        with self.page.act("", choose, "pick", aria_pressed=str(chosen).lower()):
            Plain("b", title)
            if text:
                Plain("span", text, "small")

    async def _start_recording(self) -> None:
        self._begin.say(words.STARTING)
        self._begin.attribute("disabled", True)
        try:
            await self._start_or_ask()
        finally:
            self._begin.attribute("disabled", None)
            self._begin.say(words.BEGIN_SURE if self._asked else words.BEGIN)

    async def _start_or_ask(self) -> None:
        """Record; of a person only after what lies ahead was read."""
        request, prepared = await self.bench.prepare()
        if (prepared.question or prepared.ahead) and not self._asked:
            self._ask(prepared)
            return
        await self.bench.record(request)
        ui.navigate.to("/measure")

    def _ask(self, prepared: PreparedScript) -> None:
        self._asked = True
        with inside(self._ahead):
            for caution in prepared.cautions:
                paragraph(CAUTIONS[caution], "caution")
            for line in prepared.ahead:
                paragraph(line)
            if prepared.question:
                paragraph(words.READY_FOR_HOLDS, "headline")

    def _sharing(self) -> None:
        if not self.bench.shared_at:
            return
        with section(words.SHARING).classes("wide"):
            paragraph(words.SHARING_HOW)
            Plain("p", spaced(self.bench.sessions.code), "code")
            Plain("img", classes="square", attributes={"src": "/square.svg", "alt": self.bench.shared_at})
            Plain("p", self.bench.shared_at, "small")
            certificate_steps(self.bench)
