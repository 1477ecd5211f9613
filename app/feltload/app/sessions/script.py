"""What a recording asks of the people at the machine, from its start to its end."""

from __future__ import annotations

from typing import Protocol

from feltload.acquisition import RecordingStatus
from feltload.app.sessions.swing import Swing

GO_ON = " "
"""The key by which a person says that what was asked for is so."""


class Script(Protocol):
    """One kind of recording, moment by moment.

    Attributes
    ----------
    keys : str
        What its own keys do; empty when it has none.
    question : str
        What must be so before anything is connected, answered with `GO_ON`; empty when nothing need be.
    moves : bool
        Whether the machine must have moved for the recording to be of use.
    """

    keys: str
    question: str
    moves: bool

    @property
    def step(self) -> object:
        """Changes when something else is asked for, which rings; None while nothing is to be announced."""

    @property
    def position(self) -> str:
        """Position asked for at this moment, such as "23.4 deg"; empty when none is."""

    @property
    def lines(self) -> tuple[str, ...]:
        """What stays on the screen below, such as a partner's plan."""

    def follow(self, status: RecordingStatus, swing: Swing) -> None:
        """Take the recorder's status; a few times a second, once the zero is taken."""

    def headline(self) -> str:
        """What to do now."""

    def press(self, key: str) -> bool:
        """Take a key; False when it is none of its own."""

    def pain(self) -> None:
        """The person reported pain."""
