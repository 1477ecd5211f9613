"""The page of what was measured: findings, the report, and what to do next."""

from __future__ import annotations

import asyncio
from dataclasses import replace

from fastapi import APIRouter, HTTPException
from fastapi.responses import HTMLResponse, Response
from nicegui import background_tasks, ui

from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Plain, paragraph, section
from feltload.app.live.pages.shell import Page, inside
from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.live.server.headers import document_policy
from feltload.app.live.setup.outcome import Outcome
from feltload.app.text.cautions import BEFORE_USING_THE_RESULT, INVENTED_DATA
from feltload.app.text.live import result as words


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/result")
    def result() -> None:
        with Page(bench, words.HEADING, "/result") as page:
            _Result(page).build()


def result_router(bench: Bench) -> APIRouter:
    """The report of the newest result, which a page links to; nothing else of the disk is served."""
    router = APIRouter()

    @router.get("/result/report")
    def report(save: bool = False) -> Response:
        outcome = bench.outcome
        if outcome is None or not outcome.report.exists():
            raise HTTPException(404)
        headers = {"content-security-policy": document_policy(), "cache-control": "no-store"}
        if save:
            headers["content-disposition"] = f'attachment; filename="{outcome.directory.name}.html"'
        return HTMLResponse(outcome.report.read_text(encoding="utf-8"), headers=headers)

    return router


class _Result:
    """The page of one person."""

    def __init__(self, page: Page) -> None:
        self.page, self.bench = page, page.bench
        self._shown: tuple[object, ...] = ()

    def build(self) -> None:
        """Findings as soon as there are some."""
        self.content = Plain("div", classes="inner", attributes={"aria-live": "polite"})
        task = background_tasks.create(self._follow(), name="result page")
        ui.context.client.on_delete(task.cancel)

    async def _follow(self) -> None:
        while True:
            seen = (self.bench.outcome, self.bench.estimating, self.bench.trouble, self.bench.next_command)
            if seen != self._shown or not self._shown:
                self._shown = seen
                with inside(self.content):
                    self._show()
            await asyncio.sleep(0.2)

    def _show(self) -> None:
        outcome = self.bench.outcome
        if self.bench.estimating:
            paragraph(words.WORKING, "headline")
        elif self.bench.trouble:
            paragraph(self.bench.trouble, "trouble")
        elif self.bench.next_command:
            with Plain("div", classes="part"):
                paragraph(words.PERSON, "headline")
                Plain("code", self.bench.next_command)
        elif outcome is None:
            paragraph(words.NOTHING)
        else:
            self._findings(outcome)
        recorded = isinstance(self.bench.request, RecordingRequest)
        if self.page.controls and recorded and not self.bench.estimating:
            with Plain("div", classes="row"):
                self.page.act(words.REPEAT, self._again)
                self.page.act(words.ADD_LOAD, self._another_load)

    def _findings(self, outcome: Outcome) -> None:
        with Plain("div", classes="part"):
            if outcome.invented:
                paragraph(INVENTED_DATA, "caution")
            for place, text in enumerate(outcome.findings):
                paragraph(text, "" if place else "headline")
            with Plain("div", classes="row"):
                Plain("a", words.REPORT, "act main", {"href": "/result/report"})
                Plain("a", words.SAVE_REPORT, "act", {"href": "/result/report?save=true"})
        if outcome.doubts:
            with section(words.DOUBTS):
                for text in outcome.doubts:
                    paragraph(text)
        with section(words.KEPT):
            paragraph(
                words.kept_text(outcome.directory.name, tuple(path.name for path in outcome.recordings))
            )
            for caution in BEFORE_USING_THE_RESULT:
                paragraph(caution, "caution")

    async def _again(self) -> None:
        request, prepared = await self.bench.prepare()
        await self.bench.record(request, prepared)
        ui.navigate.to("/measure")

    def _another_load(self) -> None:
        self.bench.choices = replace(self.bench.choices, load="")
        ui.navigate.to("/")
