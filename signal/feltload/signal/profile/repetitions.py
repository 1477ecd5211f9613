"""Repetitions: out from the start and back, and what each of them asked of the person."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import Flags, Floats

if TYPE_CHECKING:
    from feltload.signal.movement.grid import Aligned
    from feltload.signal.movement.movements import Run

REVERSAL_SHARE = 0.12
"""Part of the session's travel that a reversal must make up to count as a turning point."""

END_RATE_RAD_S = 0.012
"""Rate at which a movement counts as begun or ended (0.7 degrees per second)."""

COMPLETE_SHARE = 0.9
TENSION_SHARE = 0.1


@dataclass(frozen=True)
class Repetition:
    """One repetition: out from the start and back.

    Attributes
    ----------
    session : str
        Name of the session.
    side : str or None
        ``"left"``, ``"right"`` or None.
    load_kg : float
        Mass loaded.
    index : int
        Number within the session, from 0.
    start_s, turn_s, end_s : float
        Start, end of the concentric phase, and end, on the session's timeline.
    low_rad, high_rad : float
        Rotation from the start stop at the start and at the turn.
    range_lost : float
        Part of the first repetition's range that this one leaves out, 0 to 1.
    concentric_s, eccentric_s, hold_s : float
        Moving time of the two phases, and time held at the turn.
    mean_rate_rad_s, peak_rate_rad_s : float
        Of the concentric phase.
    mean_n, peak_n : float
        Handle force over the concentric phase.
    work_j_per_m : float
        Work of the concentric phase per metre of handle radius, N·rad (= J/m).
    work_j : float
        Work of the concentric phase in J; NaN when the handle's radius is unknown.
    peak_power_w : float
        Largest power of the concentric phase; NaN when the handle's radius is unknown.
    impulse_n_s : float
        Time integral of the handle force over the repetition.
    under_tension_s : float
        Time the handle force is above a tenth of its peak.
    complete : bool
        False for a partial repetition (less than 90 % of the widest one's range).
    """

    session: str
    side: str | None
    load_kg: float
    index: int
    start_s: float
    turn_s: float
    end_s: float
    low_rad: float
    high_rad: float
    range_lost: float
    concentric_s: float
    eccentric_s: float
    hold_s: float
    mean_rate_rad_s: float
    peak_rate_rad_s: float
    mean_n: float
    peak_n: float
    work_j_per_m: float
    work_j: float
    peak_power_w: float
    impulse_n_s: float
    under_tension_s: float
    complete: bool

    @property
    def range_rad(self) -> float:
        """Travel of the concentric phase."""
        return self.high_rad - self.low_rad

    @property
    def mean_power_w(self) -> float:
        """Mean power of the concentric phase; NaN when the handle's radius is unknown."""
        return self.work_j / self.concentric_s


@dataclass(frozen=True)
class Movement:
    """Runs of one direction taken together, small reversals and pauses inside included.

    Attributes
    ----------
    start, stop : int
        Grid samples, half open.
    direction : int
        +1 concentric, -1 eccentric.
    """

    start: int
    stop: int
    direction: int


class Lost:
    """Grid samples of which nothing is known.

    Parameters
    ----------
    flags : ndarray of bool, shape (n,)
    """

    def __init__(self, flags: Flags) -> None:
        self._before = np.concatenate([[0], np.cumsum(flags)])

    def any_in(self, start: int, stop: int) -> bool:
        """Whether one of them lies in ``[start, stop)``, as far as that is on the grid."""
        last = self._before.size - 1
        return bool(self._before[min(stop, last)] > self._before[max(start, 0)])


def join_runs(runs: Sequence[Run], q_rad: Floats, lost: Lost) -> list[Movement]:
    """Runs joined over pauses and small reversals (hysteresis on the travel), but not over holes of the motion."""
    if not runs:
        return []
    span = float(np.max(q_rad) - np.min(q_rad))
    large = [r for r in runs if abs(q_rad[r.stop - 1] - q_rad[r.start]) >= REVERSAL_SHARE * span]
    movements: list[Movement] = []
    for run in large:
        if movements and movements[-1].direction == run.direction:
            last = movements[-1]
            returned = abs(q_rad[run.start] - q_rad[last.stop - 1])
            if returned < REVERSAL_SHARE * span and not lost.any_in(last.stop, run.start):
                movements[-1] = Movement(last.start, run.stop, run.direction)
                continue
        movements.append(Movement(run.start, run.stop, run.direction))
    return movements


def _extended(movements: Sequence[Movement], rate_rad_s: Floats, known: Flags) -> list[Movement]:
    """Movements grown at both ends to where the arm really starts and stops, or to a hole."""
    out = []
    # Where the arm does not move that way, with the ends of the record as bounds.
    creeping = {
        way: np.concatenate(
            [[-1], np.flatnonzero((way * rate_rad_s < END_RATE_RAD_S) | ~known), [rate_rad_s.size]]
        )
        for way in (1, -1)
    }
    for movement in movements:
        still = creeping[movement.direction]
        before = still[np.searchsorted(still, movement.start) - 1]
        after = still[np.searchsorted(still, movement.stop)]
        out.append(Movement(int(before) + 1, int(after), movement.direction))
    return out


def find_repetitions(
    aligned: Aligned, runs: Sequence[Run], lag_s: float, *, handle_radius_m: float | None = None
) -> list[Repetition]:
    """Repetitions of one session.

    Parameters
    ----------
    aligned : Aligned
        Motion and force of the session.
    runs : sequence of Run
        Its runs of one-way motion.
    lag_s : float
        Lag of the force.
    handle_radius_m : float, optional
        Handle travel per radian, for work in J and power in W.

    Returns
    -------
    list of Repetition
        Each a concentric movement with the eccentric one that follows it (if any). One that a hole in either stream
        cuts is not complete.
    """
    known = aligned.moving_valid
    lost, lost_any = Lost(~known), Lost(~(known & aligned.force.valid(aligned.time_s + lag_s)))
    movements = _extended(join_runs(runs, aligned.q_rad, lost), aligned.rate_rad_s, known)
    force = aligned.force.at(aligned.time_s + lag_s)
    step = 1.0 / aligned.rate_hz
    time = aligned.time_s
    radius = np.nan if handle_radius_m is None else handle_radius_m
    widest = max(
        (
            abs(aligned.q_rad[m.stop - 1] - aligned.q_rad[m.start])
            for m in movements
            if m.direction > 0 and not lost.any_in(m.start - 1, m.stop + 1)
        ),
        default=0.0,
    )
    out: list[Repetition] = []
    first_range = 0.0
    for k, up in enumerate(movements):
        if up.direction < 0:
            continue
        following = movements[k + 1] if k + 1 < len(movements) else None
        down = following
        if following is not None and (following.direction > 0 or lost.any_in(up.stop, following.start)):
            down = None
        rising = slice(up.start, up.stop)
        whole = slice(up.start, down.stop if down is not None else up.stop)
        q, rate, pull = aligned.q_rad[rising], aligned.rate_rad_s[rising], force[rising]
        travel = float(q[-1] - q[0])
        until = whole.stop if down is not None or following is None else following.start
        cut = lost_any.any_in(whole.start - 1, until + 1)
        first_range = first_range or (0.0 if cut else travel)
        work = float(np.sum(pull * rate) * step)
        seconds = (up.stop - up.start) * step
        peak = float(np.max(pull))
        out.append(
            Repetition(
                session=aligned.name,
                side=aligned.side,
                load_kg=aligned.load_kg,
                index=len(out),
                start_s=float(time[up.start]),
                turn_s=float(time[up.stop - 1]),
                end_s=float(time[whole.stop - 1]),
                low_rad=float(q[0]),
                high_rad=float(q[-1]),
                range_lost=float(max(0.0, 1.0 - travel / first_range))
                if first_range > 0 and not cut
                else 0.0,
                concentric_s=seconds,
                eccentric_s=(down.stop - down.start) * step if down is not None else 0.0,
                hold_s=max(0.0, (down.start - up.stop) * step) if down is not None else 0.0,
                mean_rate_rad_s=float(np.mean(rate)),
                peak_rate_rad_s=float(np.max(rate)),
                mean_n=float(np.mean(pull)),
                peak_n=peak,
                work_j_per_m=work,
                work_j=work * radius,
                peak_power_w=float(np.max(pull * rate)) * radius,
                impulse_n_s=float(np.sum(force[whole]) * step),
                under_tension_s=float(np.sum(force[whole] > TENSION_SHARE * peak) * step),
                complete=bool(travel >= COMPLETE_SHARE * widest and not cut),
            )
        )
    return out
