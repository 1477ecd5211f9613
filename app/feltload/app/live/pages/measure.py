"""The page during a measurement: the stage, and what can be tapped."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from nicegui import background_tasks, ui

from feltload.app.errors import UsageError
from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Plain
from feltload.app.live.pages.shell import Page
from feltload.app.live.pages.telling import units
from feltload.app.live.state.live_session import LiveSession
from feltload.app.running.state import LivePhase, LiveState
from feltload.app.scripts.moment import Ask
from feltload.app.text.live import measure as words

LOOK_EVERY_S = 0.15
SURE_S = 4.0
"""A second tap within this time ends the recording."""


class Stage(ui.element, component="static/stage.js"):
    """What is measured at this moment; fed by the stream."""

    def __init__(self) -> None:
        super().__init__()
        unit, beside = units()
        given: dict[str, Any] = {
            "unit": unit,
            "beside": beside,
            "words": {
                "lost": words.LOST,
                "toStart": words.TO_START,
                "board": words.BOARD,
                "coverage": words.COVERAGE,
                "up": words.UP,
                "down": words.DOWN,
            },
        }
        for name, value in given.items():
            self._props[name] = value


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/measure")
    def measure() -> None:
        with Page(bench, words.HEADING, "/measure", classes="measure", named=False) as page:
            Stage()
            if page.controls:
                _Taps(page).build()


class _Taps:
    """What one person can tap, as it makes sense at the moment."""

    def __init__(self, page: Page) -> None:
        self.page, self.bench = page, page.bench
        self.note, self.plates = "", ""
        self._sure_until_s = 0.0

    def build(self) -> None:
        """The bar at the bottom, the marks above it."""
        with Plain("details", classes="part") as self.marks:
            Plain("summary", words.MARKS)
            with Plain("div", classes="inner"):
                self._marks()
        with Plain("div", classes="bar") as self.bar:
            self.pain = self.page.act(words.PAIN, self._tapped(lambda live: live.pain()), "act pain")
            self.go_on = self.page.act(words.GO_ON, self._tapped(lambda live: live.go_on()), "act main")
            self.hands_off = self.page.act(
                words.HANDS_OFF, self._tapped(lambda live: live.hands_off()), "act main"
            )
            self.end = self.page.act(words.END, self._end)
            self.result = self.page.act(words.RESULT, lambda: ui.navigate.to("/result"), "act main")
        task = background_tasks.create(self._follow(), name="taps of the measure page")
        ui.context.client.on_delete(task.cancel)

    def _marks(self) -> None:
        with Plain("div", classes="row"):
            self.page.act(words.KNOCK, self._marked(lambda live: live.knock()))
            self.page.act(words.TARE, self._marked(lambda live: live.hands_off()))
        self.page.field(words.PLATES, "", lambda text: self._set("plates", text), hint=words.PLATES_HINT)
        self.page.act(words.PLATES_SET, self._marked(lambda live: live.load_change(self.plates)))
        self.page.field(words.NOTE, "", lambda text: self._set("note", text))
        self.page.act(words.NOTE_SET, self._marked(lambda live: live.note(self.note)))
        self.marked = Plain("p", attributes={"role": "status"})

    def _set(self, name: str, text: str) -> None:
        setattr(self, name, text)

    def _running(self) -> LiveSession:
        if self.bench.live is None or not self.bench.is_recording:
            raise UsageError("nothing is being recorded", where=words.HEADING, remedy=words.NOTHING)
        return self.bench.live

    def _tapped(self, act: Callable[[LiveSession], Any]) -> Callable[[], Any]:
        return lambda: act(self._running())

    def _marked(self, act: Callable[[LiveSession], Any]) -> Callable[[], Any]:
        async def marking() -> None:
            await act(self._running())
            self.marked.say(words.MARKED)

        return marking

    async def _end(self) -> None:
        now_s = asyncio.get_running_loop().time()
        if now_s < self._sure_until_s:
            await self._running().stop()
        else:
            self._sure_until_s = now_s + SURE_S

    async def _follow(self) -> None:
        """Show what can be tapped now."""
        while True:
            self._offer(None if self.bench.live is None else self.bench.live.state)
            await asyncio.sleep(LOOK_EVERY_S)

    def _offer(self, state: LiveState | None) -> None:
        running = state is not None and not state.is_over
        moment = None if state is None or state.script is None else state.script.moment
        recording = running and state is not None and state.phase is LivePhase.RECORDING
        resting = recording and moment is not None and moment.ask is Ask.REST_AFTER
        asks = recording and moment is not None and moment.goes_on
        _offered(self.marks, running)
        _offered(self.bar, state is not None)
        _offered(self.pain, running)
        _offered(self.go_on, asks)
        _offered(self.hands_off, resting)
        _offered(self.end, running)
        _offered(self.result, state is not None and state.phase is LivePhase.ENDED)
        sure = asyncio.get_running_loop().time() < self._sure_until_s
        self.end.say(words.END_SURE if sure else words.END)


def _offered(part: Plain, offered: bool) -> None:
    part.show(offered)
