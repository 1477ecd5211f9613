"""Parts of pages about phones as sensors: letting one in, how each is doing, choosing one."""

from __future__ import annotations

from collections.abc import Callable

from nicegui import ui

from feltload.app.live.pages.elements import Act, Plain, paragraph, section
from feltload.app.live.pages.finding.squares import sensor_address
from feltload.app.live.pages.shell import Page, certificate_steps, inside
from feltload.app.text.live import phones as words

LOOK_S = 1.0


def phone_section(page: Page) -> None:
    """Lets a phone in, and lists those that were; for whoever controls."""
    with section(words.SECTION).classes("wide"):
        if not page.bench.phone_address:
            paragraph(words.NOT_SHARED)
            return
        _LettingIn(page).build()


class _LettingIn:
    """The square of the next phone, which changes once one was let in; and how those that were are doing."""

    def __init__(self, page: Page) -> None:
        self._page, self._bench = page, page.bench
        self._shown: tuple[str, dict[str, str]] | None = None
        self._squares = 0

    def build(self) -> None:
        """Square, steps, list."""
        paragraph(words.HOW)
        self._square = Plain("div", classes="inner")
        certificate_steps(self._bench)
        paragraph(words.STRAP, "caution")
        self._list = Plain("div", classes="inner", attributes={"role": "status"})
        paragraph(words.KEEP_RUNNING, "small")
        paragraph(words.WORTH, "small")
        self._look()
        ui.timer(LOOK_S, self._look)

    def _look(self) -> None:
        address = sensor_address(self._bench)
        states = states_of(self._page)
        if self._shown == (address, states):
            return
        if self._shown is None or self._shown[0] != address:
            with inside(self._square):
                # Under the same name the browser would show the picture of before.
                self._squares += 1
                picture = f"/sensor.svg?n={self._squares}"
                Plain("img", classes="square", attributes={"src": picture, "alt": address})
                Plain("p", address, "small")
                if ui.context.client.request.url.scheme == "https":
                    Plain("a", words.THIS_PHONE, "act", {"href": address})
        self._shown = (address, states)
        with inside(self._list):
            if not states:
                paragraph(words.NO_PHONES)
            for name, text in states.items():
                paragraph(f"{name}: {text}")


class PhonePicks:
    """Phones to choose from on the start page; a tap on the chosen one leaves it out.

    Parameters
    ----------
    page : Page
    choose : callable
        Called with the name of a phone, or with nothing.
    """

    def __init__(self, page: Page, choose: Callable[[str], None]) -> None:
        self._page, self._choose = page, choose
        self._shown: dict[str, tuple[Act, Plain]] = {}
        self._group = Plain("div", classes="picks")
        self._look()
        if page.bench.phone_address:
            ui.timer(LOOK_S, self._look)

    def _look(self) -> None:
        chosen, states = self._page.bench.choices.phone, states_of(self._page)
        if set(self._shown) != set(states):
            # Only then: what is drawn again under a finger is not tapped.
            with inside(self._group):
                self._shown = {name: self._pick(name) for name in states}
        for name, text in states.items():
            pick, said = self._shown[name]
            said.say(f"{words.IN_PLACE}. {text}")
            pick.attribute("aria-pressed", str(chosen == name).lower())

    def _pick(self, name: str) -> tuple[Act, Plain]:
        def choose() -> None:
            self._choose("" if self._page.bench.choices.phone == name else name)
            self._look()

        with self._page.act("", choose, "pick", aria_pressed="false") as pick:
            Plain("b", name)
            said = Plain("span", classes="small")
        return pick, said


def states_of(page: Page) -> dict[str, str]:
    """How each phone is doing, by its name."""
    return {name: words.state_line(phone.state) for name, phone in page.bench.phones.known.items()}
