"""Plain HTML elements of the pages, and fields to type into.

NiceGUI's own components bring a look of their own and compile templates in the browser, which the pages' policy
forbids; plain elements need neither.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from nicegui import ui
from nicegui.events import GenericEventArguments

from feltload.app.pages.page import unbroken
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.live.result import NUMBERS

if TYPE_CHECKING:
    from feltload.app.pages.canvas import Drawing

Handler = Callable[[], Coroutine[Any, Any, None] | None]


class Plain(ui.element):
    """An HTML element with text.

    Parameters
    ----------
    tag : str
    text : str
        Its text; it is shown as it is, whatever stands in it.
    classes : str
        Classes of the style sheet.
    attributes : mapping
        Attributes, such as ``{"aria-live": "polite"}``.
    """

    def __init__(
        self, tag: str, text: str = "", classes: str = "", attributes: Mapping[str, object] | None = None
    ) -> None:
        super().__init__(tag)
        if text:
            self._text = text
        if classes:
            self.classes(classes)
        for name, value in (attributes or {}).items():
            self._props[name] = value

    def say(self, text: str) -> None:
        """Show another text."""
        if text != (self._text or ""):
            self._text = text
            self.update()

    def attribute(self, name: str, value: object) -> None:
        """Change an attribute; None takes it away."""
        if self._props.get(name) == value:
            return
        if value is None:
            self._props.pop(name, None)
        else:
            self._props[name] = value
        self.update()

    def show(self, shown: bool) -> None:
        """Show it, or hide it from everybody, screen readers included."""
        self.attribute("hidden", None if shown else True)


class Act(Plain):
    """A button.

    Parameters
    ----------
    label : str
    handler : callable
        Called when it is tapped.
    classes : str
    attributes : mapping
    """

    def __init__(
        self,
        label: str,
        handler: Handler,
        classes: str = "act",
        attributes: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__("button", label, classes, {"type": "button", **(attributes or {})})
        self.on("click", lambda _: handler(), args=[])


class Field(ui.element, component="static/field.js"):
    """One line to type, or a choice, with its label, hint and complaint.

    Parameters
    ----------
    label : str
    value : str
    changed : callable
        Called with what stands in it, a moment after the last key.
    hint : str
        Below the label.
    choices : sequence of (value, label)
        To choose from instead of typing.
    keyboard : {"text", "decimal"}
        Which keyboard a phone shows.
    """

    def __init__(
        self,
        label: str,
        value: str,
        changed: Callable[[str], Coroutine[Any, Any, None] | None],
        *,
        hint: str = "",
        choices: Sequence[tuple[str, str]] = (),
        keyboard: str = "text",
    ) -> None:
        super().__init__()
        given = {"label": label, "value": value, "hint": hint, "trouble": "", "keyboard": keyboard}
        for name, one in given.items():
            self._props[name] = one
        self._props["choices"] = [list(choice) for choice in choices]
        self.value = value

        def typed(event: GenericEventArguments) -> Coroutine[Any, Any, None] | None:
            text = str(event.args)[:LONGEST]
            if text == self.value:
                # Leaving a field tells once more what stands in it.
                return None
            self.value = text
            return changed(text)

        self.on("typed", typed)

    def complain(self, trouble: str) -> None:
        """Say what is wrong with it; nothing when it is right."""
        if self._props["trouble"] != trouble:
            self._props["trouble"] = trouble
            self.update()

    def show_value(self, value: str) -> None:
        """Show what was chosen elsewhere."""
        if value != self.value:
            self.fill(value)

    def fill(self, value: str) -> None:
        """Put something else into it."""
        self.value = value
        self._props["value"] = value
        self.update()


class Figure(ui.element, component="static/figure.js"):
    """A figure as reports have it.

    Parameters
    ----------
    drawing : Drawing
    """

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self._props["wide"], self._props["narrow"] = drawing.wide_svg, drawing.narrow_svg
        self._props["caption"] = drawing.caption
        if drawing.table is not None:
            heads, rows = drawing.table.heads, drawing.table.rows
            self._props["numbers"] = {
                "label": NUMBERS,
                "heads": list(heads),
                "rows": [list(row) for row in rows],
            }


class Share(ui.element, component="static/share.js"):
    """A button that hands a page in one file to the device's own way of sharing, where the browser can.

    Parameters
    ----------
    label : str
    href : str
        Where the page comes from.
    file : str
        Name that it is shared under.
    failed : str
        What is said when it does not work.
    """

    def __init__(self, label: str, href: str, file: str, failed: str) -> None:
        super().__init__()
        given = {"label": label, "href": href, "file": file, "failed": failed}
        for name, value in given.items():
            self._props[name] = value


LONGEST = 2000
"""Characters that are taken from one field."""


def heading(text: str, level: int = 2) -> Plain:
    """A heading."""
    return Plain(f"h{level}", text)


def paragraph(text: str, classes: str = "") -> Plain:
    """A paragraph."""
    return Plain("p", text, classes)


def key_figures(figures: Sequence[KeyFigure]) -> None:
    """Large figures, each with what it is and a remark."""
    with Plain("dl", classes="keys"):
        for figure in figures:
            with Plain("div"):
                Plain("dt", figure.label)
                with Plain("dd"):
                    Plain("b", unbroken(figure.value))
                    Plain("span", unbroken(figure.detail), "small")


@contextmanager
def folded(label: str) -> Iterator[None]:
    """A part that is folded away below its name; used with ``with``."""
    with Plain("details"):
        Plain("summary", label)
        with Plain("div", classes="inner"):
            yield


def section(label: str) -> Plain:
    """A part of the page with its heading, to be filled with ``with``."""
    part = Plain("section", classes="part", attributes={"aria-label": label})
    with part:
        heading(label)
    return part
