"""A person's session at a machine: motion of the arm and force at the handle on one clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.pain.entered import PainfulWork, painful_work
from feltload.core import Fact, Flags, Floats
from feltload.signal import Lag, Reference, Series, Session, find_repetitions, find_runs, prepare

LOST_S = 0.05
"""A brisk repetition turns by several degrees while more force samples than this are missing."""


@dataclass(frozen=True)
class PersonMotion:
    """What a person did at a machine: uniform samples of one side, whether of holds, of a set, or of a helped set.

    Attributes
    ----------
    time_s, angle_rad, rate_rad_s, accel_rad_s2, force_n : ndarray, shape (n,)
        Time, elevation of the handle's line, its derivatives, and the handle force, lag taken out.
    repetitions : tuple of (start_s, turn_s, end_s)
        Start, end of the concentric phase, and end of each repetition.
    measured : ndarray of bool, shape (n,), or None
        False where samples of either sensor were lost; None when none were.
    u_zero_n, u_lag_n : float
        Standard uncertainty of the force from this session's zero, and from its lag at this tempo.
    u_angle_rad : float
        Standard uncertainty of this session's angle, apart from the start angle that all sessions share.
    force_rate_hz : float
        Samples per second of the force as the cell gave it; infinite when not known.
    side : str or None
        Side measured.
    warnings : tuple of Fact
        What was found on the way.
    """

    time_s: Floats
    angle_rad: Floats
    rate_rad_s: Floats
    accel_rad_s2: Floats
    force_n: Floats
    repetitions: tuple[tuple[float, float, float], ...]
    measured: Flags | None = None
    u_zero_n: float = 0.0
    u_lag_n: float = 0.0
    u_angle_rad: float = 0.0
    force_rate_hz: float = np.inf
    side: str | None = None
    warnings: tuple[Fact, ...] = ()

    @property
    def rate_hz(self) -> float:
        """Samples per second."""
        return float(1.0 / np.median(np.diff(self.time_s)))

    def painful_work(self, painful_rad: Sequence[tuple[float, float]]) -> PainfulWork | None:
        """The repetitions that went into a painful range; None when none did."""
        return painful_work(self.time_s, self.angle_rad, self.repetitions, painful_rad)


def person_motion(session: Session, reference: Reference, lag: Lag | None = None) -> PersonMotion:
    """Put a session on one clock.

    Parameters
    ----------
    session : Session
        Of this person at this machine.
    reference : Reference
        Start angle of the machine.
    lag : Lag, optional
        Lag of the force as found when the same rig measured the machine; a partner's help would
        bias a lag taken from the helped session itself. Left out, the force is taken as in time,
        which is right for holds only.

    Returns
    -------
    PersonMotion
    """
    aligned, _, facts = prepare(session, reference=reference)
    lag_s, u_lag_s = (0.0, 0.0) if lag is None else (lag.value_s, lag.u_s)
    force = aligned.force.at(aligned.time_s + lag_s)
    runs = find_runs(aligned.time_s, aligned.q_rad, aligned.rate_rad_s, aligned.moving_valid)
    repetitions = find_repetitions(aligned, runs, lag_s)
    moving = np.abs(aligned.rate_rad_s) > 0.05
    slope = np.gradient(force, aligned.time_s)
    steepness = float(np.sqrt(np.mean(slope[moving] ** 2))) if moving.any() else 0.0
    known = session.force_uncertainty
    close = Series(aligned.force.time_s, aligned.force.value, max(LOST_S, 2.5 * aligned.force_step_s))
    return PersonMotion(
        time_s=aligned.time_s,
        angle_rad=aligned.q_rad + reference.start_angle_rad,
        rate_rad_s=aligned.rate_rad_s,
        accel_rad_s2=aligned.accel_rad_s2,
        force_n=force,
        repetitions=tuple((each.start_s, each.turn_s, each.end_s) for each in repetitions),
        measured=aligned.moving_valid & close.valid(aligned.time_s + lag_s) & ~_lost(session, aligned.time_s),
        u_zero_n=float(np.hypot(known.zero_n, known.drift_n)),
        u_lag_n=u_lag_s * steepness,
        u_angle_rad=float(np.sqrt(np.mean(aligned.u_q_rad[moving] ** 2))) if moving.any() else 0.0,
        force_rate_hz=1.0 / aligned.force_step_s,
        side=session.side,
        warnings=tuple(facts),
    )


def _lost(session: Session, time_s: Floats) -> Flags:
    """Where inertial samples are missing by their count: the acceleration there is the smoother's guess."""
    lost = np.zeros(time_s.size, dtype=bool)
    if "seq" not in session.inertial:
        return lost
    count = session.inertial["seq"].to_numpy(float)
    arrival = session.inertial["host_s"].to_numpy(float)
    for last in np.flatnonzero(np.diff(count) > 1):
        lost |= (time_s >= arrival[last] - LOST_S) & (time_s <= arrival[last + 1])
    return lost
