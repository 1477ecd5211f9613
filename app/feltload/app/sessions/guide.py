"""What the person recording is told to do next: what every recording begins with, and a machine's sweep."""

from __future__ import annotations

import math

from feltload.acquisition import RecordingStatus
from feltload.app.sessions.swing import HARDLY_MOVED_DEG, Swing
from feltload.app.text.person.recording import PAIN_STOPS

SLOW_REPETITIONS = 3
"""Slow ones asked for first; brisk ones after them make inertia and lag visible."""

WAITED_LONG_S = 12.0
CUE_S = 3.0
"""Slow tempo: seconds up, and the same down."""


def first_of_all(status: RecordingStatus) -> str | None:
    """What comes before any script: an overload, the connection, the zero; None when it is the script's turn."""
    if any(stream.overloaded for stream in status.streams):
        return "Over the rated capacity of the cell: let the load down now."
    if status.phase == "connecting":
        return "Connecting to the sensors …"
    if status.phase == "tare":
        left = math.ceil(status.remaining_s or 0.0)
        return f"Hands off, arm on its stop: {left} s of rest."
    return None


class RepetitionScript:
    """Repetitions through the whole range: slow, then brisk unless a partner helps.

    Parameters
    ----------
    helped : bool
        Whether a partner helps, at one even tempo.
    lines : tuple of str
        The partner's plan.
    """

    keys = question = ""
    moves = True
    step = None
    position = ""

    def __init__(self, *, helped: bool = False, lines: tuple[str, ...] = ()) -> None:
        self.lines = lines
        self._helped = helped
        self._elapsed_s = 0.0
        self._swing = Swing()
        self._pain = False

    def follow(self, status: RecordingStatus, swing: Swing) -> None:
        """Take time and swing."""
        self._elapsed_s, self._swing = status.elapsed_s, swing

    def press(self, key: str) -> bool:
        """No keys of its own."""
        return False

    def pain(self) -> None:
        """From here on nothing more is asked for."""
        self._pain = True
        self.moves = False
        self.lines = ()

    def headline(self) -> str:
        """One sentence for the moment."""
        if self._pain:
            return PAIN_STOPS
        if self._swing.widest_deg < HARDLY_MOVED_DEG:
            if self._elapsed_s > WAITED_LONG_S:
                return "No movement seen yet. Is the inertial sensor on the moving part?"
            if self._helped:
                return "Now repeat slowly, stop to stop, the partner helping as agreed in every repetition."
            return "Now repeat slowly through the whole range, stop to stop."
        if self._helped:
            return (
                f"Help in every repetition, {CUE_S:.0f} s up and {CUE_S:.0f} s down: {self._cue()}. "
                "Then rest on the stop, hands off."
            )
        if self._swing.turns < SLOW_REPETITIONS:
            return f"Slow repetitions, {CUE_S:.0f} s up and {CUE_S:.0f} s down: {self._cue()}."
        return "Now some brisk ones, still stop to stop. Then rest on the stop, hands off."

    def _cue(self) -> str:
        beat = self._elapsed_s % (2.0 * CUE_S)
        word = "up" if beat < CUE_S else "down"
        return f"{word} {int(beat % CUE_S) + 1}"
