"""Repetitions through the whole range: slow, then brisk, or at one even tempo with a partner's help; then rest."""

from __future__ import annotations

import math

from feltload.acquisition import RecordingStatus
from feltload.app.scripts.moment import Ask, Beat, Moment, Step
from feltload.app.scripts.swing import HARDLY_MOVED_DEG, Swing

SLOW_REPETITIONS, BRISK_REPETITIONS, HELPED_REPETITIONS = 3, 3, 5
"""Slow ones asked for first; brisk ones after them make inertia and lag visible."""
WAITED_LONG_S = 12.0
CUE_S = 3.0
"""Slow tempo: seconds up, and the same down."""


class RepetitionScript:
    """Repetitions, slow and then brisk unless a partner helps, and a rest after them.

    Parameters
    ----------
    helped : bool
        Whether a partner helps, at one even tempo.
    """

    announced = None
    position = ""

    def __init__(self, *, helped: bool = False) -> None:
        self.moves = True
        self._parts = (
            ((Ask.HELPED, HELPED_REPETITIONS),)
            if helped
            else ((Ask.SLOW, SLOW_REPETITIONS), (Ask.BRISK, BRISK_REPETITIONS))
        )
        self._elapsed_s = 0.0
        self._swing = Swing()
        self._stopped: Ask | None = None
        self._stopped_at = 0
        self._skipped = 0
        self._rests_until_s: float | None = None

    @property
    def steps(self) -> tuple[Step, ...]:
        """Repetitions by tempo, then the rest."""
        return (*(Step(ask, count) for ask, count in self._parts), Step(Ask.REST_AFTER))

    @property
    def at_step(self) -> int:
        """Which of them it is at."""
        return self._stopped_at if self._stopped else self._going()[0]

    @property
    def moment(self) -> Moment:
        """What is asked for now."""
        if self._stopped is not None:
            return Moment(self._stopped, goes_on=self._stopped is Ask.OVERLOAD)
        place, done = self._going()
        if place < len(self._parts):
            ask, count = self._parts[place]
            if self._swing.widest_deg < HARDLY_MOVED_DEG:
                begin = Ask.MOVE_HELPED if ask is Ask.HELPED else Ask.MOVE
                return Moment(begin, count=count, waited_long=self._elapsed_s > WAITED_LONG_S)
            beat = None if ask is Ask.BRISK else self._beat()
            return Moment(ask, number=done + 1, count=count, goes_on=True, beat=beat)
        if place == len(self._parts):
            until_s = self._rests_until_s
            return Moment(Ask.REST_AFTER, left_s=math.nan if until_s is None else until_s - self._elapsed_s)
        return Moment(Ask.DONE)

    def follow(self, status: RecordingStatus, swing: Swing) -> None:
        """Take time and swing."""
        self._elapsed_s, self._swing = status.elapsed_s, swing

    def go_on(self) -> bool:
        """Leave the rest of these repetitions out; after an overload, go on."""
        if self._stopped is Ask.OVERLOAD:
            self._stopped = None
            return True
        place, done = self._going()
        if self._stopped is not None or place >= len(self._parts):
            return False
        if self._swing.widest_deg < HARDLY_MOVED_DEG:
            return False
        self._skipped += self._parts[place][1] - done
        return True

    def zeroed(self, duration_s: float) -> None:
        """The rest begins, whatever is left of the repetitions."""
        self._rests_until_s = self._elapsed_s + duration_s

    def pain(self) -> None:
        """From here on nothing more is asked for."""
        self._stop(Ask.PAIN)
        self.moves = False

    def overload(self) -> None:
        """Nothing is asked for until the load is lighter."""
        if self._stopped is None:
            self._stop(Ask.OVERLOAD)

    def _stop(self, ask: Ask) -> None:
        if self._stopped is None:
            self._stopped_at = self._going()[0]
        self._stopped = ask

    def _going(self) -> tuple[int, int]:
        """Which step it is at, and how many of its repetitions are done."""
        if self._rests_until_s is not None:
            return len(self._parts) + int(self._elapsed_s >= self._rests_until_s), 0
        done = self._swing.turns + self._skipped
        for place, (_, count) in enumerate(self._parts):
            if done < count:
                return place, done
            done -= count
        return len(self._parts), 0

    def _beat(self) -> Beat:
        beat = self._elapsed_s % (2.0 * CUE_S)
        return Beat(raising=beat < CUE_S, share=beat % CUE_S / CUE_S, half_s=CUE_S)
