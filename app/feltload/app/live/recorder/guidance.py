"""The script of a recording beside its recorder: follows what is seen, takes taps, and stops at pain and overload."""

from __future__ import annotations

from collections.abc import Callable

from feltload.acquisition import RecordingStatus
from feltload.app.scripts.moment import Ask, ScriptState
from feltload.app.scripts.script import Script
from feltload.app.scripts.swing import Swing

OVERLOAD_NOTE = "overload: over the rated capacity of the load cell"


class Guidance:
    """One script, followed.

    Parameters
    ----------
    script : Script
    note : callable
        Sets a mark of kind "note".
    """

    def __init__(self, script: Script, note: Callable[[str], None]) -> None:
        self._script, self._note = script, note
        self._swing = Swing()

    @property
    def state(self) -> ScriptState:
        """What is asked for now."""
        return ScriptState(self._script.moment, self._script.steps, self._script.at_step)

    @property
    def position(self) -> str:
        """Position asked for, such as "23.4 deg"."""
        return self._script.position

    def follow(self, status: RecordingStatus) -> ScriptState:
        """Take the recorder's status."""
        for stream in status.streams:
            self._swing.feed(stream.latest)
        if any(stream.overloaded for stream in status.streams):
            self.overload()
        if status.phase == "recording":
            self._script.follow(status, self._swing)
        return self.state

    def go_on(self) -> None:
        """A tap."""
        self._script.go_on()

    def counted(self, repetitions: int) -> None:
        """Somebody counted better."""
        self._swing.turns = max(self._swing.turns, repetitions)

    def marked(self, kind: str, duration_s: float | None) -> None:
        """A person set a mark that the script goes by."""
        if kind == "pain":
            self._script.pain()
        elif kind == "zero-after" and duration_s is not None:
            self._script.zeroed(duration_s)

    def overload(self) -> None:
        """Stop at once, and note it once."""
        before = self._script.moment.ask
        self._script.overload()
        if self._script.moment.ask is Ask.OVERLOAD is not before:
            self._note(OVERLOAD_NOTE)
