"""Help and resistance by hand: measured as what the machine needs minus what the client's handle felt."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter

import numpy as np
import scipy

from feltload.coaching.errors import OverlapError
from feltload.coaching.hands.delivered import DeliveredHelp, HalfRepetitionHelp, Phase
from feltload.coaching.hands.edges import edge_spread_rad, sharpened
from feltload.coaching.hands.help_variance import friction_variance, scatter_between, session_variance
from feltload.coaching.hands.line_smoothing import smooth_at_angles
from feltload.coaching.hands.motion import PersonMotion
from feltload.core import Flags, Floats
from feltload.signal import ComplianceFact, ProfileEstimate

CUTOFF_HZ = 20.0
"""Of the filter that both sides pass: above what hands do within a few degrees, below the arm's own ringing."""
CELL_PASSES = 0.2
"""A load cell's converter passes no more than about this part of its sampling rate (common practice, no source)."""
SLOWEST_RATE_RAD_S = np.deg2rad(3.0)
"""Below this the arm is turning: friction changes sign and the handle may be let go."""
TURN_S = 0.1
"""Left out before and after a turn: half the length of a slow cell's answer to a step."""
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
    Hands that come on within a few degrees are smoothed by the filter, by the cell and by the angles' neighbourhoods.
    What one more such smoothing takes off is put back once where it stands out; three and a half times that is in the
    band there, as far beside it as the arm turns within the filter.

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
    # Outside the profiled range the force felt stands in, so that the filter sees no edge there.
    gap = _low_pass(np.where(known, needed - motion.force_n, 0.0), CUTOFF_HZ, motion.rate_hz)
    again_hz = min(CUTOFF_HZ, CELL_PASSES * motion.force_rate_hz)
    taken_off = gap - _low_pass(gap, again_hz, motion.rate_hz)
    whole = _low_pass(known.astype(float), again_hz, motion.rate_hz) > 0.98
    moving = np.abs(motion.rate_rad_s) > SLOWEST_RATE_RAD_S
    if motion.measured is not None:
        moving &= motion.measured
    # The filter carries the weight that a stop takes over at a turn some way back into the movement.
    around = np.ones(2 * max(1, round(TURN_S * motion.rate_hz)) + 1, dtype=bool)
    usable = scipy.ndimage.binary_erosion(moving & known & whole, structure=around)
    halves = _half_repetitions(motion, gap, taken_off, usable, profile.angle_rad)
    if not halves:
        raise OverlapError(
            "no repetition was found in the session", remedy="record repetitions with a rest before"
        )
    noise = scatter_between(halves, attrgetter("taken_off_n"))
    halves = [
        replace(half, help_n=sharpened(profile.angle_rad, half.help_n, half.taken_off_n, noise))
        for half in halves
    ]
    scatter = max(scatter_between(halves), profile.health.residual_n)
    ahead_rad = _ahead_rad(profile)
    return DeliveredHelp(
        angle_rad=profile.angle_rad,
        half_repetitions=tuple(halves),
        shared_variance_n2=session_variance(profile, load_kg, motion) + friction_variance(profile, scatter),
        scatter_n=scatter,
        smoothing_scatter_n=noise,
        u_angle_rad=motion.u_angle_rad,
        edge_spread_rad=edge_spread_rad(float(np.median(np.abs(motion.rate_rad_s[usable]))), again_hz),
        ahead_rad=ahead_rad,
        ahead_n=ahead_rad * _steepest_n_per_rad(profile, load_kg),
    )


def _ahead_rad(profile: ProfileEstimate) -> float:
    """The profile is of the arm behind the joint; a session's own angle is that of the sensor before it."""
    before = [fact for fact in profile.warnings if fact.figures.get("place") == "before"]
    shown = {ComplianceFact.PLAY: "play_rad", ComplianceFact.FLEX: "wind_up_rad"}
    return sum(fact.figure(name) for kind, name in shown.items() for fact in before if fact.kind == kind)


def _steepest_n_per_rad(profile: ProfileEstimate, load_kg: float) -> float:
    static_n = profile.model.static_n + load_kg * profile.model.static_n_per_kg
    return float(np.nanmax(np.abs(np.gradient(static_n, profile.angle_rad))))


def _low_pass(values: Floats, cutoff_hz: float, rate_hz: float) -> Floats:
    """Forth and back, so that nothing is delayed."""
    sos = scipy.signal.butter(2, min(cutoff_hz, 0.4 * rate_hz), fs=rate_hz, output="sos")
    return np.asarray(scipy.signal.sosfiltfilt(sos, values))


def _half_repetitions(
    motion: PersonMotion, gap: Floats, taken_off: Floats, usable: Flags, grid: Floats
) -> list[HalfRepetitionHelp]:
    """The gap between needed and felt in each phase, on the grid; phases that hardly went anywhere left out."""
    halves = []
    for number, (start, turn, end) in enumerate(motion.repetitions):
        for phase, begin, finish in ((Phase.CONCENTRIC, start, turn), (Phase.ECCENTRIC, turn, end)):
            inside = usable & (motion.time_s >= begin) & (motion.time_s < finish)
            angle = motion.angle_rad[inside]
            smooth = smooth_at_angles(angle, gap[inside], grid)
            seen = np.isfinite(smooth)
            if seen.sum() >= FEWEST_ANGLES:
                by_angle = smooth - smooth_at_angles(grid[seen], smooth[seen], grid)
                by_time = smooth_at_angles(angle, taken_off[inside], grid)
                halves.append(HalfRepetitionHelp(number, phase, smooth, by_time + by_angle))
    return halves
