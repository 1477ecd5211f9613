"""What a script of any kind offers."""

from __future__ import annotations

from typing import Protocol

from feltload.acquisition import RecordingStatus
from feltload.app.scripts.moment import Moment, Step
from feltload.app.scripts.swing import Swing


class Script(Protocol):
    """One kind of recording, moment by moment, from the end of the hands-off rest on.

    Attributes
    ----------
    moves : bool
        Whether the machine must have moved for the recording to be of use.
    """

    moves: bool

    @property
    def moment(self) -> Moment:
        """What is asked for now."""

    @property
    def steps(self) -> tuple[Step, ...]:
        """Everything that is asked for, in order."""

    @property
    def at_step(self) -> int:
        """Which of them it is at; their number when all is done."""

    @property
    def announced(self) -> object:
        """Changes when something else is asked for that rings; None while nothing does."""

    @property
    def position(self) -> str:
        """Position asked for at this moment, such as "23.4 deg"; empty when none is."""

    def follow(self, status: RecordingStatus, swing: Swing) -> None:
        """Take the recorder's status; a few times a second, once the zero is taken."""

    def go_on(self) -> bool:
        """Take a tap: what was asked for is so; False where it is not waited for."""

    def zeroed(self, duration_s: float) -> None:
        """Hands are off from now on, for this long."""

    def pain(self) -> None:
        """The person reported pain: stop at once."""

    def overload(self) -> None:
        """The load cell's rated capacity was exceeded: stop at once."""
