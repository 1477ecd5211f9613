"""What the folder holds of earlier measurements, named by machine and client, each with what can be done with it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TypeVar

from nicegui import background_tasks, ui

from feltload.app.live.outcomes.fitted import FitChoices
from feltload.app.live.pages.elements import Plain, folded, heading, paragraph, section
from feltload.app.live.pages.results.documents import sheet_address
from feltload.app.live.pages.shell import READY, Page, inside
from feltload.app.live.setup.contents import (
    Contents,
    MachineHere,
    RecordingHere,
    SheetHere,
    StrengthHere,
    look_into,
)
from feltload.app.options import PersonOptions
from feltload.app.text.live import going_on as words

Here = TypeVar("Here")
SHOWN = 3
"""Of each kind at once; the others are folded away."""


class GoingOn:
    """The part of the start page about what is there already.

    Parameters
    ----------
    page : Page
    """

    def __init__(self, page: Page) -> None:
        self.page, self.bench = page, page.bench

    def build(self, *, says_next: bool) -> None:
        """What comes next in a sentence, unless that was chosen already, and what is there."""
        self._says_next = says_next
        self._place = Plain("div", classes="inner wide wide-gaps")
        background_tasks.create(self._fill(), name="start page, what is there")

    async def _fill(self) -> None:
        here = await asyncio.to_thread(look_into, self.bench.folder)
        described = await asyncio.to_thread(self.bench.folder.machines)
        sensors = self.bench.emulated or bool(await asyncio.to_thread(self.bench.folder.rigs))
        with inside(self._place):
            unused = any(one.kind == "machine" for one in here.unused)
            said = words.next_text(
                described=bool(described),
                sensors=sensors,
                unused=unused,
                measured=bool(here.machines),
                strengths=bool(here.strengths),
            )
            if self._says_next:
                paragraph(said, "headline start-next")
            else:
                heading(words.HERE)
            newest = {one.machine: one for one in reversed(here.machines)}
            others = [one for one in here.machines if newest[one.machine] is not one]
            first = list(newest.values())[::-1]
            self._listed(words.MACHINES, [*first, *others], self._machine, shown=min(SHOWN, len(first)))
            self._listed(words.STRENGTHS, here.strengths, self._strength)
            self._unused(here)
            self._kept(here)

    def _listed(
        self, name: str, found: Sequence[Here], show: Callable[[Here], None], *, shown: int = SHOWN
    ) -> None:
        if not found:
            return
        with section(name):
            for one in found[:shown]:
                show(one)
            if found[shown:]:
                with folded(words.older_text(len(found[shown:]))):
                    for one in found[shown:]:
                        show(one)

    def _machine(self, one: MachineHere) -> None:
        with self._entry(
            one.machine, (*one.loads, one.day, one.name, words.INVENTED if one.invented else "")
        ):
            self.page.act(words.OPEN, lambda: self._open(one.name))
            self.page.act(words.HOLDS, lambda: self._holds(one.name))
            self.page.act(words.FIT, lambda: self._fit(FitChoices(result=one.name)))

    def _strength(self, one: StrengthHere) -> None:
        with self._entry(words.whose(one.client), (one.machine, one.side or "", one.day, one.name)):
            self.page.act(words.OPEN, lambda: self._open(one.name))
            self.page.act(words.FIT_MACHINE, lambda: self._fit(self._with_strength(one)))

    def _with_strength(self, one: StrengthHere) -> FitChoices:
        return FitChoices(capacity=one.name, client=one.client, result=self.bench.results.fit.result)

    def _unused(self, here: Contents) -> None:
        """Recordings that nothing was made of; those of a machine give one profile."""
        of_machines: dict[str, list[RecordingHere]] = {}
        for one in here.unused:
            if one.kind == "machine":
                of_machines.setdefault(one.machine, []).append(one)
        if not here.unused:
            return
        with section(words.UNUSED):
            for machine, found in of_machines.items():
                loads = tuple(dict.fromkeys(one.load for one in reversed(found)))
                names = tuple(one.name for one in found)
                with self._entry(machine, (words.kind_word("machine"), *loads, found[0].day, *names[:SHOWN])):
                    self.page.act(words.MAKE["machine"], partial(self._profile, here, found))
            for one in here.unused:
                if one.kind != "machine":
                    self._of_person(one)

    def _of_person(self, one: RecordingHere) -> None:
        detail = (words.kind_word(one.kind), one.machine, one.load, one.day, one.name)
        with self._entry(words.whose(one.client), detail):
            self.page.act(words.MAKE[one.kind], lambda: self._person(one))

    def _kept(self, here: Contents) -> None:
        """What is looked at now and then."""
        sets = [one for one in here.recordings if one.kind == "helped"]
        if not sets and not here.sheets:
            return
        with Plain("div", classes="part"), folded(words.SETS_AND_SHEETS):
            for one in sets:
                self._of_person(one)
            for sheet in here.sheets:
                self._sheet(sheet)

    def _sheet(self, one: SheetHere) -> None:
        with self._entry(words.whose(one.client), (words.SHEET, one.day, one.name)):
            Plain("a", words.OPEN, "act", {"href": sheet_address(one.name)})

    def _entry(self, title: str, detail: tuple[str, ...]) -> Plain:
        with Plain("div", classes="entry"), Plain("p"):
            Plain("b", title)
            Plain("span", f" {words.in_a_line(detail)}", "small")
        return Plain("div", classes="row")

    async def _open(self, name: str) -> None:
        background_tasks.create(self.bench.results.open(name), name="opening a result")
        await asyncio.sleep(0)
        ui.navigate.to("/result")

    def _holds(self, name: str) -> None:
        self.bench.choices = self.bench.choices.for_person(self.bench.folder, "holds", name)
        ui.navigate.to(READY)

    def _fit(self, chosen: FitChoices) -> None:
        self.bench.results.choose(chosen)
        ui.navigate.to("/client")

    async def _profile(self, here: Contents, found: Sequence[RecordingHere]) -> None:
        """One profile of recordings that are there, together with those of the machine's newest result."""
        folder, machine = self.bench.folder, found[0].machine
        newest = next((made for made in here.machines if made.machine == machine), None)
        names = dict.fromkeys((*(() if newest is None else newest.sources), *(one.name for one in found)))
        *earlier, last = [folder.path / name for name in names]
        self.bench.results.recordings = earlier
        await self._make(last, "machine", PersonOptions(), machine)

    async def _person(self, one: RecordingHere) -> None:
        """What a recording of a person shows, beside what is known of machine and client."""
        folder = self.bench.folder
        here = await asyncio.to_thread(look_into, folder)
        result = here.result_for(one)
        suits = [made for made in here.strengths if made.machine == one.machine and made.client == one.client]
        person = PersonOptions(
            result=folder.path / result if result else None,
            capacity=folder.path / suits[0].name if one.kind == "helped" and suits else None,
            client=folder.path / one.client if one.client else None,
        )
        await self._make(folder.path / one.name, one.kind, person, one.machine)

    async def _make(self, path: Path, kind: str, person: PersonOptions, machine: str) -> None:
        making = self.bench.results.of_recording(path, kind, machine, person)
        background_tasks.create(making, name="result of what was recorded before")
        await asyncio.sleep(0)
        ui.navigate.to("/result")
