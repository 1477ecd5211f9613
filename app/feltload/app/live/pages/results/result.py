"""The page of what was measured: a sentence, figures, what to do, and the steps that come next."""

from __future__ import annotations

import asyncio
from dataclasses import replace

from nicegui import background_tasks, ui

from feltload.app.live.outcomes.outcome import Outcome, OutcomeKind
from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import (
    Figure,
    Plain,
    folded,
    heading,
    key_figures,
    paragraph,
    section,
)
from feltload.app.live.pages.results.documents import document_row, report_address, sheet_address
from feltload.app.live.pages.shell import READY, Page, inside
from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.live.setup.choices import Kind
from feltload.app.pages.page import unbroken
from feltload.app.text.cautions import CAUTIONS, INVENTED_DATA
from feltload.app.text.live import documents, result as words
from feltload.coaching import Caution

LOOK_EVERY_S = 0.2


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/result")
    def result() -> None:
        with Page(bench, words.HEADING, "/result") as page:
            _Result(page).build()


class _Result:
    """The page of one person at it."""

    def __init__(self, page: Page) -> None:
        self.page, self.bench, self.results = page, page.bench, page.bench.results
        self._shown: tuple[object, ...] = ()

    def build(self) -> None:
        """What there is as soon as there is some."""
        self.state = Plain("p", classes="headline", attributes={"role": "status"})
        self.content = Plain("div", classes="inner wide-gaps")
        task = background_tasks.create(self._follow(), name="result page")
        ui.context.client.on_delete(task.cancel)

    async def _follow(self) -> None:
        while True:
            results = self.results
            seen = (results.outcome, results.working, results.trouble, self.bench.is_recording)
            if seen != self._shown:
                self._shown = seen
                with inside(self.content):
                    self._show()
            await asyncio.sleep(LOOK_EVERY_S)

    def _show(self) -> None:
        outcome, trouble = self.results.outcome, self.results.trouble
        personal = outcome is not None and outcome.is_of_a_person and not self.page.controls
        said = ""
        if self.results.working:
            said = words.WORKING
        elif not trouble and outcome is None:
            said = words.NOTHING
        elif personal:
            said = words.PERSONAL
        self.state.say(said)
        self.state.show(bool(said))
        if self.results.working or personal:
            return
        if self.results.reported:
            with section(words.PAIN):
                for text in (*self.results.reported, CAUTIONS[Caution.PAINFUL_RANGE]):
                    paragraph(text, "caution")
        if outcome is None and not trouble:
            Plain("a", words.BEGIN, "act main", {"href": "/"})
        if trouble:
            paragraph(trouble, "trouble")
            if self.page.controls and isinstance(self.bench.request, RecordingRequest):
                with Plain("div", classes="row"):
                    self.page.act(words.REPEAT, self._again, "act main")
        elif outcome is not None:
            self._first_screen(outcome)
            if self.page.controls:
                self._next(outcome)
            self._more(outcome)

    def _first_screen(self, outcome: Outcome) -> None:
        with Plain("div", classes="inner wide-gaps beside"):
            with Plain("section", classes="part answer", attributes={"aria-label": outcome.machine}):
                Plain("p", outcome.machine, "kicker")
                if outcome.invented:
                    paragraph(INVENTED_DATA, "caution")
                paragraph(unbroken(outcome.headline), "headline")
                key_figures(outcome.key_figures)
                for text in outcome.advice:
                    paragraph(text)
                _report(outcome)
            if outcome.drawing is not None:
                Figure(outcome.drawing)
        for arm in outcome.arms:
            with section(arm.machine):
                paragraph(unbroken(arm.headline))
                _report(arm)

    def _next(self, outcome: Outcome) -> None:
        with section(words.NEXT):
            with Plain("div", classes="row"):
                if self.results.fit.is_complete:
                    self.page.act(words.SHEET, self._sheet, "act main")
                if outcome.kind is OutcomeKind.MACHINE:
                    classes = "act" if self.results.fit.is_complete else "act main"
                    self.page.act(words.HOLDS, lambda: self._record("holds"), classes)
                else:
                    self.page.act(words.HELPED, lambda: self._record("helped"))
                Plain("a", words.FIT, "act", {"href": "/client"})
            with Plain("div", classes="row"):
                if isinstance(self.bench.request, RecordingRequest):
                    self.page.act(words.REPEAT, self._again)
                if outcome.kind is OutcomeKind.MACHINE:
                    self.page.act(words.ADD_LOAD, self._another_load)
            if outcome.kind is OutcomeKind.MACHINE and len(outcome.sources) == 1:
                paragraph(words.ADD_LOAD_WHY, "small")

    def _more(self, outcome: Outcome) -> None:
        with Plain("div", classes="part"):
            if outcome.findings:
                with folded(words.MORE):
                    for text in outcome.findings:
                        paragraph(text)
            if outcome.doubts:
                with folded(words.doubts_text(len(outcome.doubts))):
                    for text in outcome.doubts:
                        paragraph(text)
            heading(words.KEPT, 3)
            paragraph(words.kept_text(outcome.name, outcome.sources), "small")
            for caution in outcome.cautions:
                paragraph(caution, "caution")

    async def _sheet(self) -> None:
        path = await self.results.write_sheet()
        ui.navigate.to(sheet_address(path.name))

    def _record(self, kind: Kind) -> None:
        fit, bench = self.results.fit, self.bench
        chosen = bench.choices.for_person(bench.folder, kind, fit.result) if fit.result else bench.choices
        bench.choices = replace(chosen, kind=kind, capacity=fit.capacity, client=fit.client or chosen.client)
        ui.navigate.to(READY)

    async def _again(self) -> None:
        request, prepared = await self.bench.prepare()
        if prepared.question or prepared.ahead:
            # What lies ahead is read there first.
            ui.navigate.to(READY)
            return
        await self.bench.record(request)
        ui.navigate.to("/measure")

    def _another_load(self) -> None:
        self.bench.choices = replace(self.bench.choices, kind="machine", load=self.bench.other_load())
        ui.navigate.to(READY)


def _report(outcome: Outcome) -> None:
    """Its page, to be opened, saved and shared."""
    if outcome.document is not None:
        document_row(report_address(outcome.name), f"{outcome.name}.html", opens=documents.OPEN_REPORT)
