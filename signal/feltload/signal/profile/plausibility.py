"""What no profile can be, whatever was recorded: refused when it is made and when it is read back."""

from __future__ import annotations

import numpy as np

from feltload.signal.errors import ProfileError
from feltload.signal.profile.estimate import ProfileEstimate

BELOW_START_RAD = np.radians(20.0)
"""The arm rests on its start stop; a rest taken a little early leaves it so far above at most."""

BEYOND_REPETITIONS = 1.25
"""A profile may be wider than the widest repetition by this factor (repetitions that a hole cut short)."""

BEYOND_REPETITIONS_RAD = np.radians(15.0)

FULL_TURN_RAD = 2.0 * np.pi
"""A start angle is an elevation."""


def require_plausible(estimate: ProfileEstimate, *, where: str) -> None:
    """Refuse a profile that its own evidence contradicts.

    Raises
    ------
    ProfileError
        Says what is absurd.
    """
    reason = _absurdity(estimate)
    if reason is not None:
        raise ProfileError(
            f"no profile to rely on: {reason}",
            where=where,
            remedy="check the streams for holes and record whole repetitions again from a rest on the start stop",
        )


def _absurdity(estimate: ProfileEstimate) -> str | None:
    angle, start = estimate.angle_rad, estimate.start_angle_rad
    if angle.size < 2 or not np.all(np.isfinite(angle)) or not np.all(np.diff(angle) > 0.0):
        return "its angles are not finite and rising"
    if not abs(start) <= FULL_TURN_RAD:
        return f"its start angle is {np.degrees(start):.0f}°, more than a full turn"
    known = np.isfinite(estimate.static_n)
    if not np.any(known, axis=1).all() or not np.all(np.isfinite(estimate.static_u95_n[known])):
        return "its forces or their bands are not finite"
    if not estimate.repetitions:
        return "it holds no repetitions"
    low, high = float(angle[0]) - start, float(angle[-1]) - start
    if low < -BELOW_START_RAD:
        return f"it reaches {np.degrees(-low):.0f}° below the start stop"
    widest = max(repetition.range_rad for repetition in estimate.repetitions)
    if high - low > BEYOND_REPETITIONS * widest + BEYOND_REPETITIONS_RAD:
        return f"it spans {np.degrees(high - low):.0f}°, and its widest repetition {np.degrees(widest):.0f}°"
    return None
