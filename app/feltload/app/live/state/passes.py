"""Ways through the travel as they happen: where the arm turns, and force against position between two turns.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np

from feltload.app.running.enough import Speed
from feltload.app.running.state import Pass
from feltload.core import Floats

TURN_RAD = math.radians(3.0)
"""The arm has turned once it has come back by this much."""
REST_S = 0.8
"""Or once it has stood still for this long."""
SMALLEST_PASS_RAD = math.radians(10.0)
POINT_EVERY_RAD = math.radians(0.6)
"""Points of a pass are at least so far apart."""
MOST_POINTS = 300
MOST_PASSES = 60
BRISK_RAD_S = math.radians(45.0)
"""Mean rate from which a half-repetition is brisk; the slow tempo asked for takes 90° in 3 s at most."""


class Passes:
    """Follows one arm from turn to turn.

    Attributes
    ----------
    done : tuple of Pass
        Those that are over, the oldest first.
    number : int
        Of the one that goes on.
    q_rad, force_n : list of float
        Its points so far.
    widest_rad : float
        The furthest rotation seen.
    """

    def __init__(self) -> None:
        self.done: tuple[Pass, ...] = ()
        self.number = 0
        self.q_rad: list[float] = []
        self.force_n: list[float] = []
        self.widest_rad = 0.0
        self.raising: bool | None = None
        self._times: list[float] = []
        # Place of the extreme of the pass that goes on.
        self._extreme = 0

    def push(self, time_s: Floats, q_rad: Floats, force_n: Floats) -> bool:
        """Take points that follow; whether a pass ended with them. Those not known are left out."""
        known = np.isfinite(q_rad) & np.isfinite(force_n)
        before = len(self.done), self.number
        for at, q, force in zip(
            time_s[known].tolist(), q_rad[known].tolist(), force_n[known].tolist(), strict=True
        ):
            self._take(at, q, force)
        return before != (len(self.done), self.number)

    def _take(self, at: float, q: float, force: float) -> None:
        self.widest_rad = max(self.widest_rad, q)
        if self.q_rad and abs(q - self.q_rad[-1]) < POINT_EVERY_RAD:
            if self.raising is not None and at - self._times[-1] > REST_S:
                # It may go on either way.
                self._turn()
                self.raising = None
            return
        self._times.append(at)
        self.q_rad.append(q)
        self.force_n.append(force)
        extreme = self.q_rad[self._extreme]
        if self.raising is None:
            away = q - self.q_rad[0]
            if abs(away) >= TURN_RAD:
                self.raising, self._extreme = away > 0.0, len(self.q_rad) - 1
        elif (q >= extreme) if self.raising else (q <= extreme):
            self._extreme = len(self.q_rad) - 1
        elif abs(q - extreme) >= TURN_RAD:
            self._turn()

    def _turn(self) -> None:
        """The pass ended at its extreme; what came after it belongs to the next."""
        end = self._extreme
        q, force, times = self.q_rad[: end + 1], self.force_n[: end + 1], self._times[: end + 1]
        way = abs(q[-1] - q[0])
        if way >= SMALLEST_PASS_RAD and self.raising is not None:
            rate = way / max(times[-1] - times[0], 1e-3)
            speed = Speed.BRISK if rate >= BRISK_RAD_S else Speed.SLOW
            kept = np.unique(np.linspace(0, end, min(end + 1, MOST_POINTS)).astype(int)).tolist()
            self.done = (
                *self.done[1 - MOST_PASSES :],
                Pass(
                    self.number,
                    self.raising,
                    speed,
                    tuple(round(q[k], 5) for k in kept),
                    tuple(round(force[k], 2) for k in kept),
                ),
            )
        self.number += 1
        self.raising = not self.raising
        self.q_rad, self.force_n = self.q_rad[end:], self.force_n[end:]
        self._times, self._extreme = self._times[end:], len(self.q_rad) - 1
