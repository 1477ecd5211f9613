"""A partner's hands while a helped set is recorded: what is planned here and now beside what is given."""

from __future__ import annotations

import math
import time

import numpy as np

from feltload.app.live.state.arm import Arm
from feltload.app.running.moving import HandsNow
from feltload.coaching import HelpDoubt, HelpNow, HelpPlan, LiveHelp, Phase
from feltload.signal import ProfileEstimate

TOO_OLD_S = 0.3
"""A partner follows within about a fifth of a second; what is older misleads."""


class Hands:
    """Follows one arm of a helped set.

    Parameters
    ----------
    profile : ProfileEstimate or None
        Of the machine, measured without help.
    plan : HelpPlan or None
    load_kg : float
        Plates now.
    start_angle_rad : float
        Of the machine.
    """

    def __init__(
        self, profile: ProfileEstimate | None, plan: HelpPlan | None, load_kg: float, start_angle_rad: float
    ) -> None:
        # Readings at rest tell neither friction nor inertia, so help in motion cannot be determined from them.
        moved = profile is not None and profile.lag is not None
        self._help = LiveHelp(profile, load_kg) if moved and profile is not None else None
        self._lag_s = 0.0 if profile is None or profile.lag is None else profile.lag.value_s
        self._plan, self._start_rad = plan, start_angle_rad
        self._now: HelpNow | None = None
        self._raising = True

    def follow(self, arm: Arm) -> None:
        """Take what the arm joined since the last call."""
        arm.lag_s = self._lag_s
        for part in arm.joined():
            if self._help is not None:
                u_rad = np.full(part.time_s.size, arm.u_q_rad)
                angle = self._start_rad + part.q_rad
                now = self._help.push(part.time_s, angle, part.rate_rad_s, u_rad, part.force_n)
                self._now = now or self._now
        if self._now is not None and self._now.doubt is None:
            self._raising = self._now.rate_rad_s > 0.0

    def now(self, arm: Arm, *, start_ns: int, replayed: bool) -> HandsNow:
        """What is planned and given at this moment."""
        found = self._now
        at = math.nan if found is None else found.angle_rad
        planned = self._planned_n(at)
        age_s = math.nan
        if found is not None and not replayed:
            age_s = (time.monotonic_ns() - start_ns) * 1e-9 - found.time_s
        doubt = self._doubt(arm, age_s)
        if doubt is not None or found is None:
            return HandsNow(planned_n=planned, doubt=doubt, age_s=age_s)
        return HandsNow(planned, found.help_n, found.u95_n, age_s=age_s)

    def _doubt(self, arm: Arm, age_s: float) -> HelpDoubt | None:
        if self._help is None:
            return HelpDoubt.NO_PROFILE
        if math.isnan(arm.zero_n):
            return HelpDoubt.NO_ZERO
        if self._now is None:
            return HelpDoubt.NO_POSITION
        if age_s > TOO_OLD_S:
            return HelpDoubt.TOO_OLD
        return self._now.doubt

    def _planned_n(self, angle_rad: float) -> float:
        if self._plan is None or math.isnan(angle_rad):
            return math.nan
        phase = Phase.CONCENTRIC if self._raising else Phase.ECCENTRIC
        given = self._plan.hand_n(phase)
        return float(np.interp(angle_rad, self._plan.angle_rad, given, left=math.nan, right=math.nan))
