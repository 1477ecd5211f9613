"""One arm as it moves: force less its zero, rotation from the stop, and the ways through the travel.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from feltload.acquisition import GYRO_COLUMNS, InertialCertificate, Mark
from feltload.app.live.state.blocks import Blocks
from feltload.app.live.state.coverage import coverage_of
from feltload.app.live.state.passes import Passes
from feltload.app.running.enough import Enough
from feltload.app.running.facts import LiveFact
from feltload.app.running.moving import ArmMoving
from feltload.app.running.state import ArmState
from feltload.core import Fact, Floats, Severity
from feltload.signal import ClockStream, HingeStream, find_tare

HINGE_RATE_HZ = 100.0
"""Inertial samples are averaged to no more than this: a shown position needs no more."""
HINGE_WINDOW_S = 60.0
SOLVE_EVERY_S = 2.0
MOST_JOINED = 200
"""Pieces kept for whoever asks for them; most recordings need none."""
KEPT_S = 70.0
"""Force kept, to go with what the hinge's first solution finds afterwards."""
TARE_SETTLES_S = 0.2
"""After the end of the hands-off rest, until what arrived late is there."""
ACCEL_COLUMNS = [name.replace("gyro", "accel").replace("rad_s", "m_s2") for name in GYRO_COLUMNS]


@dataclass(frozen=True)
class Joined:
    """Force at the handle and motion at the same times, shapes (n,); the zero is taken off."""

    time_s: Floats
    q_rad: Floats
    rate_rad_s: Floats
    force_n: Floats


class Arm:
    """Follows the sensors of one arm.

    Parameters
    ----------
    side : {"left", "right"} or None
    force_stream, inertial_stream : str or None
        Their names.
    certificate : InertialCertificate, optional
        That is applied already; tells the hinge what is left.
    rolling_m : float
        Radius of what the sensor turns with, where it may roll along.

    Attributes
    ----------
    trouble : Fact or None
        Why its force cannot be known.
    enough : Enough or None
        What the estimator says.
    lag_s : float
        Of the force behind the motion, taken out where it is known.
    last_s : float
        Recorded time of the newest sample.
    """

    def __init__(
        self,
        side: Literal["left", "right"] | None,
        force_stream: str | None,
        inertial_stream: str | None,
        certificate: InertialCertificate | None = None,
        rolling_m: float = 0.0,
    ) -> None:
        self.side = side
        self.force_stream, self.inertial_stream = force_stream, inertial_stream
        self.trouble: Fact | None = None
        self.enough: Enough | None = None
        self._clocks = {"force": ClockStream(), "inertial": ClockStream()}
        self._hinge = HingeStream(
            certificate=certificate,
            rolling_m=rolling_m,
            window_s=HINGE_WINDOW_S,
            solve_every_s=SOLVE_EVERY_S,
        )
        self._blocks = Blocks(HINGE_RATE_HZ)
        self._first: list[pd.DataFrame] | None = []
        self._first_inertial: list[pd.DataFrame] = []
        self._zero_n = math.nan
        self._zero_facts: tuple[Fact, ...] = ()
        self._motion_facts: tuple[Fact, ...] = ()
        self._force: deque[tuple[Floats, Floats]] = deque()
        self._waiting: list[tuple[Floats, Floats, Floats]] = []
        self.lag_s = 0.0
        self._joined: deque[Joined] = deque(maxlen=MOST_JOINED)
        self._passes = Passes()
        self._peak_n = math.nan
        self._force_now_n = math.nan
        self._now = (math.nan, math.nan, math.nan)
        self._solved = False
        self.last_s = 0.0

    def push_force(self, frame: pd.DataFrame, marks: Sequence[Mark]) -> None:
        """Take samples of the load cell, ``force_n`` before any zero."""
        if not len(frame):
            return
        times = self._clocks["force"].push(frame["host_s"], frame["device_s"])
        force = frame["force_n"].to_numpy(float)
        self._force.append((times, force))
        while times[-1] - self._force[0][0][-1] > KEPT_S:
            self._force.popleft()
        self.last_s = max(self.last_s, float(times[-1]))
        if self._first is not None:
            self._first.append(frame.assign(host_s=times))
            self._find_zero(marks)
        if not math.isnan(self._zero_n):
            self._force_now_n = float(force[-1]) - self._zero_n
            self._peak_n = float(np.fmax(self._peak_n, np.max(force) - self._zero_n))
        self._join()

    def push_inertial(self, frame: pd.DataFrame) -> None:
        """Take samples of the inertial sensor."""
        if not len(frame):
            return
        times = self._clocks["inertial"].push(frame["host_s"], frame["device_s"])
        if self._first is not None:
            self._first_inertial.append(frame.assign(host_s=times))
        self.last_s = max(self.last_s, float(times[-1]))
        times, gyro, accel = self._blocks.push(
            times, frame[GYRO_COLUMNS].to_numpy(float), frame[ACCEL_COLUMNS].to_numpy(float)
        )
        if not times.size:
            return
        motion = self._hinge.push(times, gyro, accel)
        self._motion_facts = motion.warnings
        if not motion.q_rad.size or not math.isfinite(motion.q_rad[-1]):
            return
        self._now = float(motion.q_rad[-1]), float(motion.rate_rad_s[-1]), float(motion.u_q_rad[-1])
        if not self._solved and self._hinge.solution is not None:
            # What was done before the hinge was found is shown as well.
            self._solved = True
            times, q = self._hinge.solution
            self._waiting = [(times, q, np.gradient(q, times))]
        else:
            self._waiting.append((motion.time_s, motion.q_rad, motion.rate_rad_s))
        self._join()

    def state(self) -> ArmState:
        """The slow part."""
        position_known = math.isfinite(self._now[0])
        facts = [*self._zero_facts, *self._motion_facts]
        if self.trouble is not None:
            facts.append(self.trouble)
        if self.inertial_stream is not None and not position_known:
            facts.append(Fact(LiveFact.POSITION_NOT_KNOWN, Severity.NOTE, stream=self.inertial_stream))
        return ArmState(
            side=self.side,
            force_stream=self.force_stream,
            inertial_stream=self.inertial_stream,
            force_known=self.trouble is None,
            zero_n=self._zero_n,
            peak_n=self._peak_n,
            position_known=position_known,
            passes=self._passes.done,
            coverage=coverage_of(self._passes.done, self._passes.widest_rad),
            enough=self.enough,
            facts=tuple(facts),
        )

    def moving(self, pass_number: int, seen: int) -> ArmMoving:
        """The quick part, for a viewer that has `seen` points of the pass of that number."""
        passes = self._passes
        start = seen if pass_number == passes.number else 0
        q_rad, rate_rad_s, u_q_rad = self._now
        return ArmMoving(
            time_s=self.last_s or math.nan,
            force_n=self._force_now_n,
            peak_n=self._peak_n,
            q_rad=q_rad,
            rate_rad_s=rate_rad_s,
            u_q_rad=u_q_rad,
            raising=passes.raising,
            pass_number=passes.number,
            curve_from=start,
            curve_q_rad=tuple(passes.q_rad[start:]),
            curve_force_n=tuple(passes.force_n[start:]),
        )

    def joined(self) -> list[Joined]:
        """Force and motion together, as far as both are known, since the last call."""
        joined = list(self._joined)
        self._joined.clear()
        return joined

    @property
    def u_q_rad(self) -> float:
        """Standard uncertainty of the rotation now."""
        return self._now[2]

    @property
    def zero_n(self) -> float:
        """Zero of the force; NaN until it is taken."""
        return self._zero_n

    @property
    def pass_number(self) -> int:
        """Of the pass that goes on."""
        return self._passes.number

    def _find_zero(self, marks: Sequence[Mark]) -> None:
        """Take the zero once the hands-off rest is over."""
        tare = next((mark for mark in marks if mark.kind == "tare" and mark.until_s is not None), None)
        if self._first is None or tare is None or tare.until_s is None:
            return
        if self.last_s < tare.until_s + TARE_SETTLES_S:
            return
        force = pd.concat(self._first, ignore_index=True)
        inertial = pd.concat(self._first_inertial, ignore_index=True) if self._first_inertial else None
        self._first, self._first_inertial = None, []
        found = find_tare(force, inertial, marks)
        self._zero_facts = found.warnings
        self._zero_n = found.zero_n

    def _join(self) -> None:
        """Give the passes what is known of force and rotation both."""
        if not self._waiting or not self._force or math.isnan(self._zero_n):
            return
        newest = float(self._force[-1][0][-1]) - self.lag_s
        times, q, rate = (np.concatenate(column) for column in zip(*self._waiting, strict=True))
        ready = times <= newest
        self._waiting = [(times[~ready], q[~ready], rate[~ready])] if np.any(~ready) else []
        if not np.any(ready):
            return
        times, q, rate = times[ready], q[ready], rate[ready]
        parts = [part for part in self._force if part[0][-1] >= times[0] - 1.0]
        force_s, force_n = (np.concatenate(column) for column in zip(*parts, strict=True))
        force = np.interp(times + self.lag_s, force_s, force_n) - self._zero_n
        self._passes.push(times, q, force)
        self._joined.append(Joined(times, q, rate, force))
