"""The client's page: a measured machine and what a client can produce put together, and the sheet made of it."""

from __future__ import annotations

import asyncio
from dataclasses import replace

from nicegui import background_tasks, ui

from feltload.app.live.outcomes.fitted import Fitted
from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Figure, Plain, folded, heading, key_figures, paragraph, section
from feltload.app.live.pages.results.documents import document_row, sheet_address
from feltload.app.live.pages.shell import READY, Page, inside
from feltload.app.live.pages.unkept import UnkeptPain
from feltload.app.live.setup.contents import Contents, look_into
from feltload.app.pages.page import unbroken
from feltload.app.text.cautions import INVENTED_DATA
from feltload.app.text.live import client as words, documents
from feltload.app.text.live.going_on import in_a_line, whose
from feltload.app.text.live.start import WATCH_ONLY
from feltload.app.text.numbers import load_text
from feltload.core import FeltloadError


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/client")
    def client() -> None:
        with Page(bench, words.HEADING, "/client") as page:
            if page.controls:
                _Client(page).build()
            else:
                paragraph(WATCH_ONLY)


class _Client:
    """The page of one person at it."""

    def __init__(self, page: Page) -> None:
        self.page, self.bench, self.results = page, page.bench, page.bench.results
        self._contents = Contents()

    def build(self) -> None:
        """The answer first, what it is about below."""
        self._unkept = UnkeptPain(self.page, self._refresh)
        self._state = Plain("p", words.WORKING, "headline", {"role": "status"})
        self._answer = Plain("div", classes="inner wide-gaps")
        self._choices = Plain("div", classes="inner wide-gaps")
        background_tasks.create(self._begin(), name="client page")

    async def _begin(self) -> None:
        self._contents = await asyncio.to_thread(look_into, self.bench.folder)
        self._preselect()
        await self._refresh()

    def _preselect(self) -> None:
        """Where only one thing can be meant, it is."""
        fit, here = self.results.fit, self._contents
        results = {one.name: one.machine for one in here.machines}
        if fit.result not in results:
            fit = replace(fit, result=here.machines[0].name if len(results) == 1 else "", load="")
        suits = [one for one in here.strengths if one.machine == results.get(fit.result)]
        if fit.capacity not in [one.name for one in suits]:
            code = self.bench.choices.client
            of_client = [one for one in suits if code and one.client == code]
            only = suits[0] if len(suits) == 1 else next(iter(of_client), None)
            fit = replace(
                fit, capacity="" if only is None else only.name, client="" if only is None else only.client
            )
        self.results.choose(fit)

    async def _refresh(self) -> None:
        """Put together what is chosen, and show what can be chosen."""
        fitted = None
        self.page.complain("")
        if self.results.fit.is_complete:
            self._state.show(True)
            # What stands there is of before: nothing of it can be tapped meanwhile.
            self._answer.attribute("inert", True)
            try:
                fitted = await self.results.fitted()
            except FeltloadError as error:
                self.page.complain(str(error))
            self._answer.attribute("inert", None)
        self._state.show(False)
        self._unkept.show()
        with inside(self._answer):
            if fitted is not None:
                self._show(fitted)
        with inside(self._choices):
            if fitted is None:
                self._to_choose(None)
            else:
                with Plain("div", classes="part"), folded(words.CHOICES):
                    self._to_choose(fitted)

    def _show(self, fitted: Fitted) -> None:
        with Plain("div", classes="inner wide-gaps beside"):
            with Plain("section", classes="part answer", attributes={"aria-label": words.HEADING}):
                self._answer_to(fitted)
            Figure(fitted.drawing)
        with section(words.CHANGES):
            for text in fitted.changes:
                paragraph(unbroken(text))
        with Plain("div", classes="part"):
            for text in (*fitted.sentences, *fitted.doubts):
                paragraph(unbroken(text))
            for text in fitted.cautions:
                paragraph(text, "caution")

    def _answer_to(self, fitted: Fitted) -> None:
        chosen = self.results.fit
        machine = next(one.machine for one in self._contents.machines if one.name == chosen.result)
        Plain("p", in_a_line((machine, whose(chosen.client), fitted.load)), "kicker")
        if fitted.invented:
            paragraph(INVENTED_DATA, "caution")
        paragraph(unbroken(fitted.headline), "headline")
        key_figures(fitted.key_figures)
        self._sheet = Plain("div", classes="inner")
        self._offer_sheet()
        self._loads(fitted)

    def _offer_sheet(self) -> None:
        written = self.results.sheet
        with inside(self._sheet):
            if written is not None:
                document_row(sheet_address(written.name), written.name, opens=documents.OPEN_SHEET)
                paragraph(words.written_text(written.name), "small")
            else:
                self._make = self.page.act(words.SHEET, self._make_sheet, "act main")

    async def _make_sheet(self) -> None:
        self._make.say(words.MAKING_SHEET)
        self._make.attribute("disabled", True)
        try:
            path = await self.results.write_sheet()
        finally:
            self._make.say(words.SHEET)
            self._make.attribute("disabled", None)
        self._offer_sheet()
        ui.navigate.to(sheet_address(path.name))

    def _loads(self, fitted: Fitted) -> None:
        heading(words.LOAD, 3)
        with Plain("div", classes="picks tight"):
            for load in fitted.loads:
                text = load_text(load.load_kg)
                detail = words.load_detail(load.demand, load.u_demand, measured=load.measured)
                self._pick(text == fitted.load, text, detail, load=text)

    def _to_choose(self, fitted: Fitted | None) -> None:
        machine = next(
            (one.machine for one in self._contents.machines if one.name == self.results.fit.result), ""
        )
        self._machines()
        if machine:
            self._strengths(machine)
            self._sets(machine)
        if fitted is not None:
            self.page.field(words.LOAD_FIELD, "", self._typed_load, hint=words.LOAD_HINT)

    def _machines(self) -> None:
        with section(words.MACHINE):
            if not self._contents.machines:
                paragraph(words.NO_MACHINES)
                Plain("a", words.MEASURE_ONE, "act main", {"href": "/"})
            with Plain("div", classes="picks"):
                for one in self._contents.machines:
                    detail = in_a_line((*one.loads, one.day, one.name))
                    chosen = one.name == self.results.fit.result
                    self._pick(chosen, one.machine, detail, result=one.name, load="", helped="")

    def _strengths(self, machine: str) -> None:
        suits = [one for one in self._contents.strengths if one.machine == machine]
        with section(words.STRENGTH):
            if not suits:
                paragraph(words.NO_STRENGTHS)
            with Plain("div", classes="picks"):
                for one in suits:
                    detail = in_a_line((one.side, one.day, one.name))
                    chosen = one.name == self.results.fit.capacity
                    self._pick(
                        chosen, whose(one.client), detail, capacity=one.name, client=one.client, load=""
                    )
            self.page.act(words.MEASURE_STRENGTH, self._measure_strength)

    def _sets(self, machine: str) -> None:
        sets = self._contents.helped_sets(machine)
        if not sets:
            return
        helped = self.results.fit.helped
        with section(words.SET), Plain("div", classes="picks"):
            self._pick(not helped, words.NO_SET, "", helped="")
            for one in sets:
                detail = in_a_line((one.load, one.day, one.name))
                self._pick(one.name == helped, whose(one.client), detail, helped=one.name)

    def _pick(self, chosen: bool, title: str, detail: str, **changed: str) -> None:
        async def choose() -> None:
            self.results.choose(replace(self.results.fit, **changed))
            self._preselect()
            await self._refresh()

        with self.page.act("", choose, "pick", aria_pressed=str(chosen).lower()):
            Plain("b", title)
            if detail:
                Plain("span", detail, "small")

    async def _typed_load(self, text: str) -> None:
        """Take a load that was typed, unless nothing can be said about it."""
        before = self.results.fit
        self.results.choose(replace(before, load=text.strip()))
        try:
            await self.results.fitted()
        except FeltloadError:
            self.results.choose(before)
            raise
        await self._refresh()

    def _measure_strength(self) -> None:
        self.bench.choices = self.bench.choices.for_person(
            self.bench.folder, "holds", self.results.fit.result
        )
        ui.navigate.to(READY)
