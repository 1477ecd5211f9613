"""Plain HTML elements of the pages, and fields to type into.

NiceGUI's own components bring a look of their own and compile templates in the browser, which the pages' policy
forbids; plain elements need neither.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Mapping, Sequence
from typing import Any

from nicegui import ui
from nicegui.events import GenericEventArguments

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

    def fill(self, value: str) -> None:
        """Put something else into it."""
        self.value = value
        self._props["value"] = value
        self.update()


LONGEST = 2000
"""Characters that are taken from one field."""


def heading(text: str, level: int = 2) -> Plain:
    """A heading."""
    return Plain(f"h{level}", text)


def paragraph(text: str, classes: str = "") -> Plain:
    """A paragraph."""
    return Plain("p", text, classes)


def section(label: str) -> Plain:
    """A part of the page with its heading, to be filled with ``with``."""
    part = Plain("section", classes="part", attributes={"aria-label": label})
    with part:
        heading(label)
    return part
