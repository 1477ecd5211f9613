"""What hurts a person without a code, as pages show it before anything is planned or recorded."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from feltload.app.live.pages.elements import Plain, heading, paragraph
from feltload.app.live.pages.shell import Page, inside
from feltload.app.text.live import client as words


class UnkeptPain:
    """The marks, and the way to leave them out where another person is at hand.

    Parameters
    ----------
    page : Page
    forgotten : callable
        What follows when they were left out.
    """

    def __init__(self, page: Page, forgotten: Callable[[], Awaitable[None]] | None = None) -> None:
        self._page, self._forgotten = page, forgotten
        self._place = Plain("div", classes="inner wide")

    def show(self) -> None:
        """Show them as they are now."""
        pain = self._page.bench.results.pain
        with inside(self._place):
            if not pain.unkept:
                return
            with Plain("div", classes="part"):
                heading(words.UNKEPT, 3)
                for machine in pain.unkept:
                    paragraph(words.unkept_text(machine, pain.texts(machine)), "caution")
                paragraph(words.UNKEPT_UNTIL)
                self._page.act(words.ANOTHER_CLIENT, self._another_client)

    async def _another_client(self) -> None:
        self._page.bench.results.pain.forget()
        self.show()
        if self._forgotten is not None:
            await self._forgotten()
