"""The partner's page during a helped set: planned help beside what is given, as one large moving mark."""

from __future__ import annotations

from typing import Any

from nicegui import ui

from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import paragraph
from feltload.app.live.pages.shell import Page
from feltload.app.live.pages.telling import units
from feltload.app.text.cautions import CAUTIONS
from feltload.app.text.live import hands as words
from feltload.coaching import Caution


class Hands(ui.element, component="static/hands.js"):
    """The moving mark; fed by the stream."""

    def __init__(self) -> None:
        super().__init__()
        unit, beside = units()
        self._props["unit"], self._props["beside"] = unit, beside
        said: dict[str, Any] = {
            "planned": words.PLANNED,
            "given": words.GIVEN,
            "help": words.HELP,
            "resist": words.RESIST,
            "noSet": words.NO_SET,
            "noPlan": words.NO_PLAN,
            "unplanned": words.WITHOUT_PLAN,
            "lost": f"{words.CANNOT_KNOW} {words.LOST}.",
            "nothing": f"{words.CANNOT_KNOW} {words.NOTHING_YET}.",
            "late": f"{words.CANNOT_KNOW} {words.LATE}.",
            "sound": words.SOUND,
            "vibration": words.VIBRATION,
            "how": words.SOUND_HOW,
            "drawing": words.DRAWING,
        }
        self._props["words"] = said


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/hands")
    def hands() -> None:
        with Page(bench, words.HEADING, "/hands", named=False):
            Hands()
            for line in bench.plan:
                paragraph(line)
            paragraph(CAUTIONS[Caution.HELP_BY_HAND], "caution")
