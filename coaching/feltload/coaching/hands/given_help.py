"""Help and resistance by hand: measured as what the machine needs minus what the client's handle felt."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import binary_erosion
from scipy.signal import butter, sosfiltfilt

from feltload.coaching.errors import OverlapError
from feltload.coaching.hands.delivered import DeliveredHelp, HalfRepetitionHelp, Phase
from feltload.coaching.hands.help_variance import friction_variance, scatter_between, session_variance
from feltload.coaching.hands.line_smoothing import smooth_at_angles
from feltload.coaching.hands.motion import PersonMotion
from feltload.core import Flags, Floats
from feltload.signal import ProfileEstimate

CUTOFF_HZ = 6.5
SLOWEST_RATE_RAD_S = np.deg2rad(3.0)
"""Below this the arm is turning: friction changes sign and the handle may be let go."""
TURN_S = 0.1
"""Left out before and after a turn: half the length of the filter's answer to a step."""
SMALLEST_RANGE_RAD = np.deg2rad(10.0)
FEWEST_ANGLES = 3


def delivered_help(profile: ProfileEstimate, motion: PersonMotion, load_kg: float) -> DeliveredHelp:
    """Measure help: what the machine needs at this motion minus what the client's handle felt.

    Parameters
    ----------
    profile : ProfileEstimate
        Of the machine, measured without help.
    motion : PersonMotion
        Of the helped session.
    load_kg : float
        Plates in the helped session.

    Raises
    ------
    OverlapError
        When the session moved outside the range that was profiled.

    Notes
    -----
    Variance of one half-repetition: profile at this load, its friction, zero, lag and angle of this session, and
    scatter; of a mean of k of them the same with the scatter divided by k. The scatter is not assumed: it is the robust
    spread about the median at each position, and never less than the residual that the profile's own movements left.
    """
    needed = profile.force_n(motion.angle_rad, motion.rate_rad_s, motion.accel_rad_s2, load_kg)
    known = np.isfinite(needed)
    if known.mean() < 0.05 or np.ptp(motion.angle_rad[known]) < SMALLEST_RANGE_RAD:
        raise OverlapError(
            "the session hardly moves within the range that was profiled",
            remedy="profile the machine through the range that the client uses",
        )
    sos = butter(2, CUTOFF_HZ, fs=motion.rate_hz, output="sos")
    # Both sides go through the same filter, so fast parts leave no difference behind; outside the
    # profiled range the force felt stands in, so that the filter sees no edge there.
    gap = sosfiltfilt(sos, np.where(known, needed - motion.force_n, 0.0))
    whole = sosfiltfilt(sos, known.astype(float)) > 0.98
    moving = np.abs(motion.rate_rad_s) > SLOWEST_RATE_RAD_S
    if motion.measured is not None:
        moving &= motion.measured
    # The filter carries the weight that a stop takes over at a turn some way back into the movement.
    around = np.ones(2 * max(1, round(TURN_S * motion.rate_hz)) + 1, dtype=bool)
    usable = binary_erosion(moving & known & whole, structure=around)
    halves = _half_repetitions(motion, gap, usable, profile.angle_rad)
    if not halves:
        raise OverlapError(
            "no repetition was found in the session", remedy="record repetitions with a rest before"
        )
    scatter = max(scatter_between(halves), profile.health.residual_n)
    return DeliveredHelp(
        angle_rad=profile.angle_rad,
        half_repetitions=halves,
        shared_variance_n2=session_variance(profile, load_kg, motion) + friction_variance(profile, scatter),
        scatter_n=scatter,
    )


def _half_repetitions(
    motion: PersonMotion, gap: Floats, usable: Flags, grid: Floats
) -> tuple[HalfRepetitionHelp, ...]:
    """The gap between needed and felt in each phase, on the grid; phases that hardly went anywhere left out."""
    halves = []
    for number, (start, turn, end) in enumerate(motion.repetitions):
        for phase, begin, finish in ((Phase.CONCENTRIC, start, turn), (Phase.ECCENTRIC, turn, end)):
            inside = usable & (motion.time_s >= begin) & (motion.time_s < finish)
            values = smooth_at_angles(motion.angle_rad[inside], gap[inside], grid)
            if np.isfinite(values).sum() >= FEWEST_ANGLES:
                halves.append(HalfRepetitionHelp(number, phase, values))
    return tuple(halves)
