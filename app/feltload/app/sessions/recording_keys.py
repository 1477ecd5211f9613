"""What the keys do while a recording runs: marks, a line for a note, and the end, which is asked for once."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import Protocol

from feltload.app.scripts.script import Script
from feltload.app.sessions.keys import ESCAPE

GO_ON = " "
"""The key by which a person says that what was asked for is so."""
ZERO_AFTER_S = 3.0
BACKSPACES = ("\x7f", "\x08")
END_QUESTION = "End the recording? y ends it; any other key goes on."


class Marker(Protocol):
    """The part of a recorder that keys reach."""

    def stop(self) -> None:
        """End the recording."""

    def mark(
        self, kind: str, text: str = "", *, duration_s: float | None = None, host_ns: int | None = None
    ) -> None:
        """Set a mark."""


class RecordingKeys:
    """Takes every key typed during a recording.

    Parameters
    ----------
    marker : Marker
    script : Script
        Has keys of its own.
    actions : mapping of str to callable
        Further keys, such as that of a field check.
    """

    def __init__(
        self, marker: Marker, script: Script, actions: Mapping[str, Callable[[], None]] | None = None
    ) -> None:
        self._marker, self._script = marker, script
        self._note: str | None = None
        self._opened_ns = 0
        self._asked = False
        self._actions: dict[str, Callable[[], None]] = {
            "\n": self._ask,
            "q": self._ask,
            "k": lambda: marker.mark("knock"),
            "n": self._open,
            "p": self._pain,
            "z": self._zero,
            GO_ON: self._go_on,
            **(actions or {}),
        }

    @property
    def prompt(self) -> str | None:
        """The open line or question, as it is shown; None when keys are marks."""
        if self._note is not None:
            return f"Note: {self._note}_   (Enter keeps it, Esc drops it; no key is a mark until then)"
        return END_QUESTION if self._asked else None

    def press(self, key: str) -> None:
        """Take one key."""
        if self._note is not None:
            self._type(key, self._note)
        elif self._asked:
            self._answer(key.lower())
        else:
            self._actions.get(key.lower(), _nothing)()

    def keep_note(self) -> None:
        """Keep the note on the open line, if there is one: the recording ends."""
        if self._note is not None and self._note.strip():
            self._marker.mark("note", self._note.strip(), host_ns=self._opened_ns)
        self._note = None

    def _open(self) -> None:
        # What is noted happened before it was typed.
        self._note, self._opened_ns = "", time.monotonic_ns()

    def _type(self, key: str, note: str) -> None:
        if key in ("\n", ""):
            self.keep_note()
        elif key == ESCAPE:
            self._note = None
        elif key in BACKSPACES:
            self._note = note[:-1]
        elif key.isprintable():
            self._note = note + key

    def _ask(self) -> None:
        self._asked = True

    def _answer(self, key: str) -> None:
        self._asked = False
        if key == "y":
            self._marker.stop()
        elif key == "p":
            # Pain is never swallowed by a question.
            self._pain()

    def _zero(self) -> None:
        self._marker.mark("zero-after", duration_s=ZERO_AFTER_S)
        self._script.zeroed(ZERO_AFTER_S)

    def _go_on(self) -> None:
        self._script.go_on()

    def _pain(self) -> None:
        self._marker.mark("pain", self._script.position)
        self._script.pain()


def _nothing() -> None:
    """Any other key."""
