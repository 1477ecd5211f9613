"""Maximal holds, position by position: what is asked for at each moment, with countdown, hold and rest."""

from __future__ import annotations

import math
from dataclasses import dataclass

from feltload.acquisition import RecordingStatus
from feltload.app.scripts.moment import STOPPED, Ask, Moment, Step
from feltload.app.scripts.swing import Swing
from feltload.coaching import FEWEST_POSITIONS, HoldPlan

COUNTDOWN_S = 3.0
BUILD_UP_S = 1.0


_LASTING_S = {Ask.COUNTDOWN: COUNTDOWN_S, Ask.BUILD_UP: BUILD_UP_S}
_AT_A_TRY = (Ask.SET_UP, Ask.COUNTDOWN, Ask.BUILD_UP, Ask.HOLD)
_AFTER = {
    Ask.COUNTDOWN: Ask.BUILD_UP,
    Ask.BUILD_UP: Ask.HOLD,
    Ask.HOLD: Ask.REST,
    Ask.REST: Ask.SET_UP,
}


@dataclass(frozen=True)
class _Try:
    """One hold to come: its position in the plan, and its angle."""

    place: int
    angle_rad: float


class HoldScript:
    """The script of a session of maximal holds.

    Parameters
    ----------
    plan : HoldPlan
    start_angle_rad : float
        Lever angle on the start stop, where the recording begins.
    """

    moves = False

    def __init__(self, plan: HoldPlan, start_angle_rad: float) -> None:
        self._plan, self._start_rad = plan, start_angle_rad
        first = [_Try(place, angle) for place, angle in enumerate(plan.angle_rad)]
        self._tries = [
            one for round_ in range(plan.rounds) for one in (first if round_ % 2 == 0 else first[::-1])
        ]
        self._done: list[_Try] = []
        self._painful: set[int] = set()
        self._phase = Ask.SET_UP
        self._since_s: float | None = None
        self._now_s = 0.0
        self._swing_rad = 0.0

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every hold, in order; those that are not asked for any more left out."""
        return tuple(Step(Ask.HOLD, angle_rad=each.angle_rad) for each in (*self._done, *self._tries))

    @property
    def at_step(self) -> int:
        """How many holds are over."""
        return len(self._done)

    @property
    def announced(self) -> object:
        """Changes at every change of what is asked for."""
        return self._phase, len(self._done)

    @property
    def position(self) -> str:
        """Angle of the hold at hand: the last one while resting from it."""
        at = self._at_hand()
        return "" if at is None else f"{math.degrees(at.angle_rad):.1f} deg"

    def follow(self, status: RecordingStatus, swing: Swing) -> None:
        """Go on where a time is over."""
        self._now_s, self._swing_rad = status.elapsed_s, math.radians(swing.now_deg)
        if self._since_s is None:
            self._since_s = self._now_s
        while self._phase in _AFTER and self._left_s() <= 0.0:
            self._since_s += self._lasting_s()
            if self._phase is Ask.HOLD:
                self._done.append(self._tries.pop(0))
            self._phase = _AFTER[self._phase]
            if self._phase is Ask.REST and not self._tries:
                self._phase = Ask.DONE

    @property
    def moment(self) -> Moment:
        """What is asked for now."""
        at, after = self._at_hand(), self._tries[0] if self._tries else None
        return Moment(
            self._phase,
            number=len(self._done) + 1,
            count=len(self._done) + len(self._tries),
            goes_on=self._phase in (Ask.SET_UP, Ask.PAIN, Ask.OVERLOAD),
            left_s=max(0.0, self._left_s()) if self._phase in _AFTER else math.nan,
            angle_rad=None if at is None else at.angle_rad,
            next_angle_rad=None if after is None else after.angle_rad,
            arm_rad=self._start_rad + self._swing_rad,
        )

    def go_on(self) -> bool:
        """The arm is fixed and the client ready; or the other positions are without pain; or the load is lighter."""
        if self._phase is Ask.SET_UP:
            self._enter(Ask.COUNTDOWN)
        elif self._phase in (Ask.PAIN, Ask.OVERLOAD):
            self._enter(Ask.REST if self._tries else Ask.DONE)
        else:
            return False
        return True

    def zeroed(self, duration_s: float) -> None:
        """Nothing changes: holds are compared with the zero before them as well."""

    def pain(self) -> None:
        """Stop, and never ask for this position again."""
        at = self._at_hand()
        if at is not None:
            self._painful.add(at.place)
            if self._phase in _AT_A_TRY:
                self._done.append(self._tries.pop(0))
        self._tries = [one for one in self._tries if one.place not in self._painful]
        left = len(self._plan.angle_rad) - len(self._painful)
        self._enter(Ask.PAIN if left >= FEWEST_POSITIONS else Ask.TOO_FEW)

    def overload(self) -> None:
        """Let go; the hold at hand counts as over."""
        if self._phase in STOPPED:
            return
        if self._phase in _AT_A_TRY and self._phase is not Ask.SET_UP:
            self._done.append(self._tries.pop(0))
        self._enter(Ask.OVERLOAD)

    def _at_hand(self) -> _Try | None:
        if self._phase in _AT_A_TRY:
            return self._tries[0] if self._tries else None
        return self._done[-1] if self._done else None

    def _enter(self, phase: Ask) -> None:
        self._phase, self._since_s = phase, self._now_s

    def _lasting_s(self) -> float:
        lasting = {**_LASTING_S, Ask.HOLD: self._plan.hold_s, Ask.REST: self._plan.rest_s}
        return lasting.get(self._phase, 0.0)

    def _left_s(self) -> float:
        return self._lasting_s() - (self._now_s - (self._since_s or 0.0))
