"""Help by hand while it is given: what the machine needs at this motion minus what the client's handle feels.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from feltload.coaching.hands.given_help import SLOWEST_RATE_RAD_S
from feltload.coaching.match.load_line import LoadLine
from feltload.core import EXPANDED_COVERAGE_K, Floats
from feltload.signal import ProfileEstimate

WINDOW_S = 0.12
"""Over this much the acceleration is a straight line's slope and the help a mean: half of it is the delay."""
FEWEST = 5
ANSWER_S = 0.015
"""How far the two sensors' answers to a quick change may lie apart: a cell's filter is not the gyro's."""
ACCELERATION_SHARE = 0.15
"""Standard uncertainty of an acceleration from so short a window, as a part of it."""


class HelpDoubt(StrEnum):
    """Why the help given cannot be known at a moment."""

    NO_PROFILE = "no-profile"
    NO_ZERO = "no-zero"
    NO_POSITION = "no-position"
    OUTSIDE_PROFILE = "outside-profile"
    """The arm is where the machine was not measured."""

    TURNING = "turning"
    """At rest or near a turn: friction changes sign and the handle may be let go."""

    TOO_OLD = "too-old"
    """The newest samples are older than a partner can go by."""


@dataclass(frozen=True)
class HelpNow:
    """Help at a moment, positive along the raising direction.

    Attributes
    ----------
    time_s : float
        The moment that it is of.
    angle_rad, rate_rad_s : float
        Of the arm then.
    help_n, u95_n : float
        Help and the half-width of its 95 % band; NaN with a doubt.
    doubt : HelpDoubt or None
    """

    time_s: float
    angle_rad: float
    rate_rad_s: float
    help_n: float = math.nan
    u95_n: float = math.nan
    doubt: HelpDoubt | None = None


class LiveHelp:
    """Streaming twin of `delivered_help`, causal: what a partner gives, a twentieth of a second later.

    Parameters
    ----------
    profile : ProfileEstimate
        Of the machine, measured without help.
    load_kg : float
        Plates now.
    u_zero_n : float
        Standard uncertainty of the zero now.
    """

    def __init__(self, profile: ProfileEstimate, load_kg: float, *, u_zero_n: float = 0.0) -> None:
        self._profile, self._load_kg = profile, load_kg
        grid = profile.angle_rad
        line = LoadLine.of(profile)
        static = np.clip(np.diag(line.static_covariance_at(load_kg)), 0.0, None)
        count = np.maximum((profile.raising_count + profile.lowering_count).mean(axis=0), 1.0)
        residual = profile.health.residual_n
        self._variance_n2 = (
            np.interp(grid, line.angle_rad, static) + residual**2 * (1.0 + 1.0 / count) + u_zero_n**2
        )
        self._slope_n_rad = np.gradient(profile.force_n(grid, 0.0, 0.0, load_kg), grid)
        self._recent: deque[tuple[float, float, float, float, float]] = deque()

    def push(
        self, time_s: Floats, angle_rad: Floats, rate_rad_s: Floats, u_angle_rad: Floats, force_n: Floats
    ) -> HelpNow | None:
        """Take samples that follow, shape (n,): force at the handle, its lag taken out, at the arm's motion.

        Returns
        -------
        HelpNow or None
            Of half a window before the newest sample; None until there are enough.
        """
        for row in zip(time_s, angle_rad, rate_rad_s, u_angle_rad, force_n, strict=True):
            if self._recent and row[0] - self._recent[-1][0] > WINDOW_S:
                # Samples were lost: what lies on both sides makes no slope.
                self._recent.clear()
            self._recent.append(row)
        while self._recent and self._recent[-1][0] - self._recent[0][0] > WINDOW_S:
            self._recent.popleft()
        if len(self._recent) < FEWEST:
            return None
        return self._now(np.array(self._recent))

    def _now(self, rows: Floats) -> HelpNow:
        time, angle, rate, u_angle, force = rows.T
        middle, mean_rate = float(time.mean()), float(rate.mean())
        at = float(angle.mean())
        centred = time - middle
        accel = float(centred @ rate / max(float(centred @ centred), 1e-12))
        if np.min(np.abs(rate)) < SLOWEST_RATE_RAD_S or np.ptp(np.sign(rate)) > 0:
            return HelpNow(middle, at, mean_rate, doubt=HelpDoubt.TURNING)
        needed = self._profile.force_n(angle, rate, accel, self._load_kg)
        if not np.all(np.isfinite(needed)):
            return HelpNow(middle, at, mean_rate, doubt=HelpDoubt.OUTSIDE_PROFILE)
        grid = self._profile.angle_rad
        inertia = float(
            self._profile.force_n(at, mean_rate, accel, self._load_kg)
            - self._profile.force_n(at, mean_rate, 0.0, self._load_kg)
        )
        gap = needed - force
        # Hands that come on or go off: what is late by a little is off by much.
        lag = self._profile.lag
        u_late_n = math.hypot(ANSWER_S, 0.0 if lag is None else lag.u_s) * abs(
            float(np.polyfit(centred, gap, 1)[0])
        )
        u_angle_n = float(np.interp(at, grid, self._slope_n_rad)) * float(u_angle.max())
        variance = float(np.interp(at, grid, self._variance_n2))
        variance += (ACCELERATION_SHARE * inertia) ** 2 + u_late_n**2 + u_angle_n**2
        return HelpNow(
            middle,
            at,
            mean_rate,
            help_n=float(np.mean(gap)),
            u95_n=EXPANDED_COVERAGE_K * math.sqrt(variance),
        )
