"""How far delivered help may be off: what all half-repetitions share, and how they scatter."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from operator import attrgetter

import numpy as np

from feltload.coaching.hands.delivered import HalfRepetitionHelp, Phase
from feltload.coaching.hands.motion import PersonMotion
from feltload.coaching.match.load_line import LoadLine
from feltload.core import Floats
from feltload.signal import ProfileEstimate

FEWEST_AT_AN_ANGLE = 3


def scatter_between(
    halves: Sequence[HalfRepetitionHelp],
    value_n: Callable[[HalfRepetitionHelp], Floats] = attrgetter("help_n"),
) -> float:
    """Standard deviation of half-repetitions about their phase's median at each position, N.

    Robust, so that a single odd one, or a partner who varies over part of the travel, does not make it.
    """
    deviations: list[Floats] = []
    for phase in Phase:
        rows = np.stack([value_n(half) for half in halves if half.phase == phase] or [np.full(1, np.nan)])
        enough = np.isfinite(rows).sum(axis=0) >= FEWEST_AT_AN_ANGLE
        if not enough.any():
            continue
        count = np.isfinite(rows[:, enough]).sum(axis=0)
        deviation = np.abs(rows[:, enough] - np.nanmedian(rows[:, enough], axis=0))
        # The median of few values follows them, which shrinks what is left.
        deviations.append((deviation * np.sqrt(count / (count - 1.0)))[np.isfinite(deviation)])
    # Brisk movements scatter more than slow ones, so the median would be too small for them; the 0.7 quantile of a
    # normal distribution's magnitude is 1.036 standard deviations.
    return float(np.quantile(np.concatenate(deviations), 0.7)) / 1.0364 if deviations else 0.0


def session_variance(profile: ProfileEstimate, load_kg: float, motion: PersonMotion) -> Floats:
    """Of the profile at this load, and of this session's zero, lag and angle, N², shape (n,)."""
    line = LoadLine.of(profile)
    grid = profile.angle_rad
    static = np.interp(grid, line.angle_rad, np.clip(np.diag(line.static_covariance_at(load_kg)), 0.0, None))
    slope = np.gradient(profile.force_n(grid, 0.0, 0.0, load_kg), grid)
    parts = (slope * motion.u_angle_rad, motion.u_zero_n, motion.u_lag_n)
    return np.asarray(static + sum(np.square(part) for part in parts))


def friction_variance(profile: ProfileEstimate, scatter_n: float) -> Floats:
    """Of the friction, N², shape (n,): half the gap between the profile's own two ways, which scatter as these do."""
    count = (profile.raising_count + profile.lowering_count).mean(axis=0)
    return np.asarray(scatter_n**2 / np.maximum(count, 1.0))
