"""Maximal holds, position by position: what is asked for at each moment, with countdown, hold and rest."""

from __future__ import annotations

import math
from dataclasses import dataclass

from feltload.acquisition import RecordingStatus
from feltload.app.sessions.script import GO_ON
from feltload.app.sessions.swing import Swing
from feltload.app.text.person.recording import HOLD_KEYS, HOLDS_QUESTION, HoldMoment, HoldPhase, hold_headline
from feltload.app.text.position import Travel
from feltload.coaching import FEWEST_POSITIONS, HoldPlan

COUNTDOWN_S = 3.0
BUILD_UP_S = 1.0


_LASTING_S = {HoldPhase.COUNTDOWN: COUNTDOWN_S, HoldPhase.BUILD_UP: BUILD_UP_S}
_AT_A_TRY = (HoldPhase.SET_UP, HoldPhase.COUNTDOWN, HoldPhase.BUILD_UP, HoldPhase.HOLD)
_AFTER = {
    HoldPhase.COUNTDOWN: HoldPhase.BUILD_UP,
    HoldPhase.BUILD_UP: HoldPhase.HOLD,
    HoldPhase.HOLD: HoldPhase.REST,
    HoldPhase.REST: HoldPhase.SET_UP,
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
    along : Travel
        What positions are said as parts of.
    """

    keys = HOLD_KEYS
    question = HOLDS_QUESTION
    moves = False
    lines: tuple[str, ...] = ()

    def __init__(self, plan: HoldPlan, start_angle_rad: float, along: Travel) -> None:
        self._plan, self._start_rad, self._along = plan, start_angle_rad, along
        first = [_Try(place, angle) for place, angle in enumerate(plan.angle_rad)]
        self._tries = [
            one for round_ in range(plan.rounds) for one in (first if round_ % 2 == 0 else first[::-1])
        ]
        self._done: list[_Try] = []
        self._painful: set[int] = set()
        self._phase = HoldPhase.SET_UP
        self._since_s: float | None = None
        self._now_s = 0.0
        self._swing_rad = 0.0

    @property
    def phase(self) -> HoldPhase:
        """What is asked for now."""
        return self._phase

    @property
    def step(self) -> object:
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
            if self._phase is HoldPhase.HOLD:
                self._done.append(self._tries.pop(0))
            self._phase = _AFTER[self._phase]
            if self._phase is HoldPhase.REST and not self._tries:
                self._phase = HoldPhase.DONE

    def headline(self) -> str:
        """One sentence for the moment."""
        at, after = self._at_hand(), self._tries[0] if self._tries else None
        return hold_headline(
            HoldMoment(
                phase=self._phase,
                number=len(self._done) + 1,
                count=len(self._done) + len(self._tries),
                angle_rad=None if at is None else at.angle_rad,
                next_angle_rad=None if after is None else after.angle_rad,
                arm_rad=self._start_rad + self._swing_rad,
                along=self._along,
                left_s=max(0.0, self._left_s()),
            )
        )

    def press(self, key: str) -> bool:
        """The arm is fixed and the client ready; or, after pain, the other positions are without."""
        if key != GO_ON:
            return False
        if self._phase is HoldPhase.SET_UP:
            self._enter(HoldPhase.COUNTDOWN)
        elif self._phase is HoldPhase.PAIN:
            self._enter(HoldPhase.REST if self._tries else HoldPhase.DONE)
        return True

    def pain(self) -> None:
        """Stop, and never ask for this position again."""
        at = self._at_hand()
        if at is not None:
            self._painful.add(at.place)
            if self._phase in _AT_A_TRY:
                self._done.append(self._tries.pop(0))
        self._tries = [one for one in self._tries if one.place not in self._painful]
        left = len(self._plan.angle_rad) - len(self._painful)
        self._enter(HoldPhase.PAIN if left >= FEWEST_POSITIONS else HoldPhase.TOO_FEW)

    def _at_hand(self) -> _Try | None:
        if self._phase in _AT_A_TRY:
            return self._tries[0] if self._tries else None
        return self._done[-1] if self._done else None

    def _enter(self, phase: HoldPhase) -> None:
        self._phase, self._since_s = phase, self._now_s

    def _lasting_s(self) -> float:
        lasting = {**_LASTING_S, HoldPhase.HOLD: self._plan.hold_s, HoldPhase.REST: self._plan.rest_s}
        return lasting.get(self._phase, 0.0)

    def _left_s(self) -> float:
        return self._lasting_s() - (self._now_s - (self._since_s or 0.0))
