"""What every page has: its head, its content, a place for what went wrong, and who may tap."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from contextlib import contextmanager
from typing import Any

from nicegui import ui

from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Act, Field, Handler, Plain, heading, paragraph
from feltload.app.text.live import joining, shell as words
from feltload.app.text.live.start import NOT_ALLOWED
from feltload.core import FeltloadError

READY = "/?ready=true"
"""The start page for a recording that is chosen already."""


class Page:
    """One page under construction; used with ``with``.

    Parameters
    ----------
    bench : Bench
    title : str
    here : str
        Its path.
    classes : str
        Classes of its content.
    named : bool
        Whether its heading is seen; a screen reader reads it anyway.
    """

    def __init__(self, bench: Bench, title: str, here: str, *, classes: str = "", named: bool = True) -> None:
        self.bench = bench
        self.controls = bench.may_control()
        ui.page_title(f"{title} – {words.NAME}")
        ui.add_head_html('<link rel="stylesheet" href="/assets/live.css">')
        self._head(here)
        self.content = Plain("div", classes=f"page {classes}".strip())
        with self.content:
            heading(title, 1).classes("wide" if named else "unseen")
            self._trouble = Plain("p", classes="trouble wide", attributes={"role": "alert"})
            self._trouble.show(False)

    def __enter__(self) -> Page:
        self.content.__enter__()
        return self

    def __exit__(self, *_: object) -> None:
        self.content.__exit__()

    def complain(self, text: str) -> None:
        """Show what went wrong; empty when it is over."""
        self._trouble.say(text)
        self._trouble.show(bool(text))

    def guarded(self, handler: Callable[..., Any]) -> Callable[..., Any]:
        """The handler for whoever may control at that moment; what it refuses is shown in one line."""

        async def handling(*given: Any) -> None:
            if not self.bench.may_control():
                self.complain(NOT_ALLOWED)
                return
            self.complain("")
            try:
                outcome = handler(*given)
                if inspect.isawaitable(outcome):
                    await outcome
            except FeltloadError as error:
                self.complain(str(error))

        return handling

    def act(self, label: str, handler: Handler, classes: str = "act", **attributes: object) -> Act:
        """A button for whoever may control."""
        named = {name.replace("_", "-"): value for name, value in attributes.items()}
        return Act(label, self.guarded(handler), classes, named)

    def field(self, label: str, value: str, changed: Callable[[str], Any], **more: Any) -> Field:
        """A field for whoever may control."""
        return Field(label, value, self.guarded(changed), **more)

    def _head(self, here: str) -> None:
        with Plain("header", classes="top"):
            Plain("a", words.NAME, "name", {"href": "/"})
            with Plain("nav", attributes={"aria-label": words.NAVIGATION}):
                for path, name in words.PAGES.items():
                    Plain(
                        "a",
                        name,
                        attributes={"href": path, **({"aria-current": "page"} if path == here else {})},
                    )
            if not self.controls:
                with Plain("span", classes="watching"):
                    Plain("span", f"{words.WATCHING} · ")
                    Plain("a", words.TAKE_PART, attributes={"href": "/join"})


def certificate_steps(bench: Bench) -> None:
    """What a phone shows the first time, and what to compare before going on."""
    with Plain("details"):
        Plain("summary", joining.WARNING_EXPECTED)
        with Plain("ol", classes="steps"):
            for step in joining.WARNING_STEPS:
                Plain("li", step)
    paragraph(f"{joining.FINGERPRINT}:", "small")
    Plain("p", bench.fingerprint, "fingerprint")


@contextmanager
def inside(parent: ui.element) -> Any:
    """Build into an element that is cleared first."""
    parent.clear()
    with parent:
        yield parent
