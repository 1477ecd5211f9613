"""Repetitions: out from the start and back, and what each of them asked of the person."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.core import Flags, Floats, coverage_95
from feltload.signal.movement.grid import Aligned
from feltload.signal.movement.movements import Run
from feltload.signal.profile.estimate import Repetition

REVERSAL_SHARE = 0.12
"""Part of the session's travel that a reversal must make up to count as a turning point."""

END_RATE_RAD_S = 0.012
"""Rate at which a movement counts as begun or ended (0.7 degrees per second)."""

COMPLETE_SHARE = 0.9
TENSION_SHARE = 0.1


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
                range_rad=travel,
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
                mean_power_w=work * radius / seconds,
                peak_power_w=float(np.max(pull * rate)) * radius,
                impulse_n_s=float(np.sum(force[whole]) * step),
                under_tension_s=float(np.sum(force[whole] > TENSION_SHARE * peak) * step),
                complete=bool(travel >= COMPLETE_SHARE * widest and not cut),
            )
        )
    return out


@dataclass(frozen=True)
class SideDifference:
    """Left against right in one quantity of the repetitions.

    Attributes
    ----------
    quantity : str
        Field of `Repetition`.
    left, right : float
        Means.
    difference, u95 : float
        Left - right and the half-width of its 95 % interval (Welch).
    percent : float
        Difference in percent of the larger side.
    """

    quantity: str
    left: float
    right: float
    difference: float
    u95: float
    percent: float


def compare_sides(
    repetitions: Sequence[Repetition],
    quantities: Sequence[str] = (
        "range_rad",
        "peak_n",
        "mean_n",
        "work_j_per_m",
        "concentric_s",
        "impulse_n_s",
    ),
) -> list[SideDifference]:
    """Left and right arm compared over their complete repetitions; empty unless both have two or more."""
    sides = {side: [r for r in repetitions if r.side == side and r.complete] for side in ("left", "right")}
    if min(len(group) for group in sides.values()) < 2:
        return []
    out = []
    for quantity in quantities:
        left, right = (np.array([getattr(r, quantity) for r in sides[s]]) for s in ("left", "right"))
        squares = np.array([np.var(left, ddof=1) / left.size, np.var(right, ddof=1) / right.size])
        total = float(np.sum(squares))
        freedom = total**2 / max(
            float(squares[0] ** 2 / (left.size - 1) + squares[1] ** 2 / (right.size - 1)), 1e-300
        )
        u95 = coverage_95(max(freedom, 1.0)) * np.sqrt(total) if total > 0 else 0.0
        difference = float(np.mean(left) - np.mean(right))
        larger = max(abs(float(np.mean(left))), abs(float(np.mean(right))), 1e-300)
        out.append(
            SideDifference(
                quantity,
                float(np.mean(left)),
                float(np.mean(right)),
                difference,
                float(u95),
                100.0 * difference / larger,
            )
        )
    return out
