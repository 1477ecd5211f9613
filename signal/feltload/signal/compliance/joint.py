"""The joint of a machine that gives, as its sessions show it, and what the loaded arm does behind it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy

from feltload.core import Floats
from feltload.signal.alignment.lag import Lag
from feltload.signal.alignment.solved import Solved
from feltload.signal.compliance.contacts import LoadingLine, find_contacts, loading_line
from feltload.signal.compliance.ringing import Mode, find_mode
from feltload.signal.movement.grid import Aligned
from feltload.signal.regression.rows import Rows, equation_columns

SURE = 4.0
"""A gap is reported from this many standard uncertainties on."""

LEAST_GAP_RAD = np.radians(0.1)
LEAST_START_SHARE = 0.05
"""Share of the largest force without which nothing comes onto the hands at the start of the travel."""

AS_MODE = (0.6, 1.6)
"""The wind-up that the sensor shows over that of the mode, where it sits before what bends."""

ON_STOP_RAD = np.radians(0.25)
SLACK_SHARE = 0.05
"""Of the force at the start: with less the joint may be open."""

BLOWS_HZ = 8.0
"""A sensor of a hundred readings a second shows a blow as slower ringing down to here."""

DERIVATIVE_S = 0.09
"""Length of the smoothing derivative of the force."""


@dataclass(frozen=True)
class Joint:
    """Play and flex of a machine.

    Attributes
    ----------
    line : LoadingLine or None
        How the angle goes with the force while the load comes onto the hands.
    mode : Mode or None
        How it rings.
    start_n : tuple of float
        Force at the start of the travel, of each session.
    wind_up_rad_n, u_wind_up_rad_n : float
        Turn of the sensor's part against the load per newton at the handle; 0 where the sensor sits with the load.
    most_wind_up_rad : float
        Turn of the handle's section against the load at the largest force; 0 where no mode tells it.
    """

    line: LoadingLine | None
    mode: Mode | None
    start_n: tuple[float, ...]
    wind_up_rad_n: float = 0.0
    u_wind_up_rad_n: float = 0.0
    most_wind_up_rad: float = 0.0

    @property
    def before(self) -> bool:
        """Whether the sensor's part moves with the handle, and the load behind the joint."""
        return self.gap_rad > 0.0 or self.wind_up_rad_n > 0.0

    @property
    def gap_rad(self) -> float:
        """Play between the sensor's part and the load; 0 where none is sure."""
        if self.line is None or self.line.gap_rad < max(LEAST_GAP_RAD, SURE * self.line.u_gap_rad):
            return 0.0
        return self.line.gap_rad

    @property
    def ringing_hz(self) -> float | None:
        """What the low-pass has to stay below; blows of play ring at any frequency."""
        heard = [] if self.mode is None else [self.mode.frequency_hz]
        return min([*heard, *([BLOWS_HZ] if self.gap_rad else [])], default=None)

    @property
    def gives(self) -> bool:
        """Whether anything of it is sure."""
        return self.gap_rad > 0.0 or self.mode is not None


def find_joint(solved: Solved, lags: Sequence[Lag]) -> Joint:
    """Play and flex that all sessions of a fit show together."""
    start_n = tuple(_start_n(solved, rows) for rows in solved.sessions)
    peak_n = max(float(np.max(np.abs(force))) for force in solved.fit.forces_n)
    by_session = [
        find_contacts(rows.aligned, lag.value_s, start) if start > LEAST_START_SHARE * peak_n else []
        for rows, lag, start in zip(solved.sessions, lags, start_n, strict=True)
    ]
    contacts = [contact for of_one in by_session for contact in of_one]
    step_s = max(rows.aligned.force_step_s for rows in solved.sessions)
    line = loading_line(contacts, step_s)
    starts_s = [
        [
            contact.time_s + lag.value_s - float(rows.aligned.force.time_s[0])
            for contact in of_one
            if contact.taken
        ]
        for rows, lag, of_one in zip(solved.sessions, lags, by_session, strict=True)
    ]
    forces = [_on_grid(rows.aligned) for rows in solved.sessions]
    inertia = _start_inertia(solved)
    mode = find_mode(forces, starts_s)
    seen = mode is not None and line is not None and _winds_up(line, _wind_up_rad_n(mode, inertia))
    if mode is None or not (seen or mode.even):
        # What the sensor's own wind-up bears out need not stand above the hands' unsteadiness.
        mode = find_mode(forces, starts_s, contrast=0.0) if line is not None and line.winds_up else None
        seen = mode is not None and line is not None and _winds_up(line, _wind_up_rad_n(mode, inertia))
        mode = mode if seen else None
    by_mode = 0.0 if mode is None else _wind_up_rad_n(mode, inertia)
    joint = Joint(line, mode, start_n, most_wind_up_rad=by_mode * peak_n)
    if line is None:
        return joint
    wind_up = (0.0, 0.0)
    if mode is not None and (seen or (joint.gap_rad and line.wind_up_rad_n > AS_MODE[0] * by_mode)):
        wind_up = (by_mode, 2.0 * by_mode * mode.u_frequency_hz / mode.frequency_hz)
        line = loading_line(contacts, step_s, wind_up)
    elif mode is None and joint.gap_rad > 0.0 and line.wind_up_rad_n > 2.0 * line.u_wind_up_rad_n:
        # Rubber under the stop winds up too: without ringing only what has play is known to bend beside it.
        wind_up = (line.wind_up_rad_n, line.u_wind_up_rad_n)
    return replace(joint, line=line, wind_up_rad_n=wind_up[0], u_wind_up_rad_n=wind_up[1])


def _wind_up_rad_n(mode: Mode, inertia_n_per_rad_s2: float) -> float:
    """Turn per newton of a spring that swings the felt inertia so."""
    return 1.0 / (inertia_n_per_rad_s2 * (2.0 * np.pi * mode.frequency_hz) ** 2)


def _winds_up(line: LoadingLine, by_mode: float) -> bool:
    """Whether the sensor's part winds up against the load as a mode has it."""
    low, high = AS_MODE
    return line.winds_up and low * by_mode < line.wind_up_rad_n < high * by_mode


def _start_n(solved: Solved, rows: Rows) -> float:
    own = solved.layout.gather(solved.fit.smoothed.coefficients, rows.aligned.load_kg)
    static = solved.layout.bases.static
    return float((static.dense(np.array([static.low])) @ own[: static.size])[0])


def _start_inertia(solved: Solved) -> float:
    """Felt inertia at the start of the travel, N per rad/s², at the middle load."""
    coefficients = solved.fit.smoothed.coefficients[solved.layout.slices()["inertia", False]]
    low = np.array([solved.layout.bases.static.low])
    return max(float((solved.layout.bases.felt_inertia(low) @ coefficients)[0]), 1e-6)


def _on_grid(aligned: Aligned) -> tuple[Floats, float]:
    """The force at the steps at which it came, NaN where nothing is known; and their rate."""
    step = max(aligned.force_step_s, 1.0 / aligned.rate_hz)
    time = np.arange(aligned.force.time_s[0], aligned.force.time_s[-1], step)
    return np.where(aligned.force.valid(time), aligned.force.at(time), np.nan), 1.0 / step


def behind_joint(rows: Rows, solved: Solved, joint: Joint, number: int, lag_s: float) -> Aligned:
    """One session with the motion of the loaded arm in place of the sensor's, and with what the handle does not feel.

    Parameters
    ----------
    rows : Rows
        Of the session as it was measured.
    solved : Solved
        A fit, of it or of what came behind the joint before.
    joint : Joint
    number : int
        Of the session.
    lag_s : float
        Lag of its force.
    """
    aligned, start_n = rows.aligned, joint.start_n[number]
    force = aligned.force.at(aligned.time_s + lag_s)
    loaded = np.clip(force / max(SLACK_SHARE * start_n, 1e-9), 0.0, 1.0)
    q = aligned.q_rad - joint.gap_rad * loaded - joint.wind_up_rad_n * force
    rate, accel = aligned.rate_rad_s, aligned.accel_rad_s2
    if joint.wind_up_rad_n:
        length = 2 * round(0.5 * DERIVATIVE_S * aligned.rate_hz) + 1
        slope, bend = (
            scipy.signal.savgol_filter(force, length, 2, deriv=order, delta=1.0 / aligned.rate_hz)
            for order in (1, 2)
        )
        rate, accel = rate - joint.wind_up_rad_n * slope, accel - joint.wind_up_rad_n * bend
    u_gap = joint.line.u_gap_rad if joint.line is not None and joint.gap_rad else 0.0
    u_bent = joint.u_wind_up_rad_n * np.abs(force)
    moved = replace(
        aligned,
        q_rad=q,
        rate_rad_s=rate,
        accel_rad_s2=accel,
        u_q_rad=np.sqrt(aligned.u_q_rad**2 + u_gap**2 + u_bent**2),
        u_shape_rad=np.hypot(aligned.u_shape_rad, u_bent),
        u_reference_rad=float(np.hypot(aligned.u_reference_rad, u_gap)),
        ringing_hz=joint.ringing_hz,
    )
    own = solved.layout.gather(solved.fit.smoothed.coefficients, aligned.load_kg)
    needed = equation_columns(q, rate, accel, solved.layout.bases) @ own
    apart = q < ON_STOP_RAD
    if joint.before:
        apart |= loaded < 1.0
    return replace(moved, unfelt_n=np.where(apart, needed - force, 0.0))
