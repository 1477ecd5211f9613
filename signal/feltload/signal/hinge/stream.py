"""The arm's rotation while it is being recorded: causal, in bounded memory.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Fact, Floats
from feltload.signal.errors import MotionError
from feltload.signal.hinge.data import integrate
from feltload.signal.hinge.estimator import HingeMotion, estimate_hinge
from feltload.signal.hinge.outliers import bridged, disturbed_stretches, jumps, wild_samples
from feltload.signal.hinge.parameters import HingeParameters
from feltload.signal.hinge.smoother.places import STOP_RAD, STOP_U_RAD
from feltload.signal.hinge.smoother.prior import LEAST_GRAVITY_M_S2
from feltload.signal.noise.densities import InertialNoise
from feltload.signal.noise.filters import median_rate

if TYPE_CHECKING:
    from feltload.acquisition import InertialCertificate

#: How far apart two solutions put one angle where their windows overlap, and what an accelerometer's offset may have
#: moved since the first rest.
CARRIED_U_RAD, OFFSET_U_M_S2 = np.radians(0.03), 0.03
#: The arm must have turned this far before a first solution is tried.
FIRST_TURN_RAD = np.radians(12.0)
#: Samples before those that are looked at for wild ones, and seconds for which the newest may yet turn out to be wild.
CONTEXT, KEPT_S = 30, 1.0


@dataclass(frozen=True)
class LiveMotion:
    """Motion of the samples just pushed.

    Attributes
    ----------
    time_s, q_rad, rate_rad_s, u_q_rad : ndarray, shape (n,)
        As in `HingeMotion`; q and u are NaN before the first solution.
    settled : bool
        True once a window of full length stands behind the solution.
    warnings : tuple of Fact
        Of the latest solution.
    """

    time_s: Floats
    q_rad: Floats
    rate_rad_s: Floats
    u_q_rad: Floats
    settled: bool
    warnings: tuple[Fact, ...]


class HingeStream:
    """Streaming twin of `estimate_hinge`.

    Holds the last `window_s` of samples, solves them again every `solve_every_s`, and carries the newest solution
    on by the gyro. What keeps q = 0 in place when the first rest has left the window is what turns in the specific
    force there, rests on the stop, and the solution before where the windows overlap.

    Parameters
    ----------
    noise : InertialNoise, optional
    certificate : InertialCertificate, optional
    rolling_m : float
        As in `estimate_hinge`.
    window_s, solve_every_s : float
        Length of the window and time between solutions, seconds.
    """

    def __init__(
        self,
        *,
        noise: InertialNoise | None = None,
        certificate: InertialCertificate | None = None,
        rolling_m: float = 0.0,
        window_s: float = 60.0,
        solve_every_s: float = 2.0,
    ) -> None:
        self._noise = noise
        self._certificate = certificate
        self._rolling_m = rolling_m
        self._window_s = window_s
        self._every_s = solve_every_s
        self._parts: deque[tuple[Floats, Floats, Floats]] = deque()
        self._solved_s: float | None = None
        self._anchor: _Anchor | None = None
        # Times and rotation of the newest solution, counted from the first rest, and how well that is known.
        self._held: tuple[Floats, Floats] | None = None
        self._held_u_rad = 0.0
        self._settled = False
        self._warnings: tuple[Fact, ...] = ()
        # Newest solution at its last sample, carried on from there.
        self._last: _Carried | None = None

    def push(self, time_s: ArrayLike, gyro_rad_s: ArrayLike, accel_m_s2: ArrayLike) -> LiveMotion:
        """Add samples that follow those before, shapes (n,), (n, 3), (n, 3).

        Returns
        -------
        LiveMotion
            For these samples only. Samples that are not newer than the last are left out.
        """
        times = np.asarray(time_s, dtype=float).ravel()
        gyro = np.asarray(gyro_rad_s, dtype=float).reshape(-1, 3)
        accel = np.asarray(accel_m_s2, dtype=float).reshape(-1, 3)
        if not len(times) == len(gyro) == len(accel):
            raise MotionError(
                "times, gyro and accelerometer differ in length", remedy="give one row per sample"
            )
        newest = self._parts[-1][0][-1] if self._parts else -np.inf
        ceiling = np.maximum.accumulate(np.concatenate([[newest], times]))[:-1]
        good = (times > ceiling) & np.isfinite(gyro).all(axis=1) & np.isfinite(accel).all(axis=1)
        times, gyro, accel = times[good], gyro[good], accel[good]
        if not len(times):
            empty = np.empty(0)
            return LiveMotion(empty, empty, empty, empty, self._settled, self._warnings)
        self._parts.append((times, gyro, accel))
        while len(self._parts) > 1 and times[-1] - self._parts[0][0][-1] > self._window_s:
            self._parts.popleft()
        if self._due(times[-1]):
            self._solve()
        return self._live(times)

    @property
    def solution(self) -> tuple[Floats, Floats] | None:
        """Times and rotation of the newest solution, shapes (n,): also of samples that were pushed before it."""
        return self._held

    def _recent(self, since_s: float) -> tuple[Floats, Floats]:
        """Times and rates since a time and a little before, wild samples bridged as far as they show by now."""
        parts, before = [self._parts[-1]], 0
        while len(parts) < len(self._parts) and before < CONTEXT:
            part = self._parts[-1 - len(parts)]
            before += int(np.count_nonzero(part[0] <= since_s))
            parts.insert(0, part)
        seen, rates, accel = (np.concatenate(column) for column in zip(*parts, strict=True))
        rate_hz = median_rate(seen) if len(seen) > 1 else 1.0
        wild = wild_samples(seen, rates, accel, rate_hz) | disturbed_stretches(rates, rate_hz)
        # Whether the newest comes back shows only later; no arm jumps like that.
        wild[-1] = len(seen) > 1 and jumps(rates[-2:], rate_hz)[0]
        if not np.any(wild) or np.all(wild):
            return seen, rates
        return seen, bridged(seen, rates, wild)

    def _due(self, now_s: float) -> bool:
        if self._solved_s is None:
            self._solved_s = float(now_s)
        return now_s - self._solved_s >= self._every_s

    def _window(self) -> tuple[Floats, Floats, Floats]:
        times, gyro, accel = (np.concatenate(column) for column in zip(*self._parts, strict=True))
        return times, gyro, accel

    def _solve(self) -> None:
        times, gyro, accel = self._window()
        self._solved_s = float(times[-1])
        try:
            motion = estimate_hinge(
                times,
                gyro,
                accel,
                noise=self._noise,
                certificate=self._certificate,
                rolling_m=self._rolling_m,
            )
        except MotionError:
            # The arm rests, or has not moved yet: carry on with what there is.
            return
        if self._anchor is None and np.ptp(motion.q_rad) < FIRST_TURN_RAD:
            return
        self._settled = self._settled or times[-1] - times[0] > 0.8 * self._window_s
        self._warnings = motion.warnings
        sign, shift = self._anchored(motion)
        parameters = motion.parameters
        self._held = (motion.time_s, sign * motion.q_rad + shift)
        self._last = _Carried(
            time_s=float(motion.time_s[-1]),
            q_rad=float(sign * motion.q_rad[-1] + shift),
            axis=sign * parameters.axis,
            scale=1.0 + parameters.gyro_scale,
            bias_rad_s=float(
                sign * (gyro[-1] @ parameters.axis)
                - sign * motion.rate_rad_s[-1] / (1.0 + parameters.gyro_scale)
            ),
            u_q_rad=float(np.hypot(motion.u_q_rad[-1], self._held_u_rad)),
        )

    def _anchored(self, motion: HingeMotion) -> tuple[float, float]:
        """Sign and shift that take the window's rotation to that from the first rest."""
        parameters = motion.parameters
        first = motion.reference_s[0] if motion.reference_s else float(motion.time_s[0])
        anchor, held = self._anchor, self._held
        seen_now = motion.reference_s is not None and anchor is not None and abs(first - anchor.rest_s) < 0.5
        if anchor is None or held is None or seen_now:
            # The first rest is in the window; the newest solution knows it best.
            self._anchor = _Anchor(first, parameters.axis, parameters.turning_m_s2)
            self._held_u_rad = 0.0
            return 1.0, 0.0
        sign = float(np.sign(parameters.axis @ anchor.axis))
        q = sign * motion.q_rad
        common = motion.time_s <= held[0][-1]
        shift = float(np.median(np.interp(motion.time_s[common], *held) - q[common]))
        information, moved = (np.hypot(self._held_u_rad, CARRIED_U_RAD)) ** -2, 0.0
        for apart, u_rad in (anchor.by_gravity(q + shift, q, parameters, sign), _by_the_stop(motion, shift)):
            information += u_rad**-2
            moved += apart * u_rad**-2
        self._held_u_rad = float(information**-0.5)
        return sign, shift + moved / information

    def _live(self, times: Floats) -> LiveMotion:
        last = self._last
        if last is None:
            unknown = np.full(len(times), np.nan)
            return LiveMotion(times, unknown, unknown.copy(), unknown.copy(), False, self._warnings)
        seen, gyro = self._recent(min(last.time_s, float(times[0])))
        rate = last.scale * (gyro @ last.axis - last.bias_rad_s)
        along = integrate(seen, rate) if len(seen) > 1 else np.zeros(1)
        q = last.q_rad + along - np.interp(last.time_s, seen, along)
        # What is older than wild samples need to show themselves is counted on from.
        settled = int(np.searchsorted(seen, times[-1] - KEPT_S)) - 1
        if settled >= 0 and seen[settled] > last.time_s:
            self._last = replace(last, time_s=float(seen[settled]), q_rad=float(q[settled]))
        new = slice(len(seen) - len(times), None)
        return LiveMotion(
            times, q[new], rate[new], np.full(len(times), last.u_q_rad), self._settled, self._warnings
        )


def _by_the_stop(motion: HingeMotion, shift: float) -> tuple[float, float]:
    """How far off the shift leaves the window's first rest if that is the first of all, and how sure that is."""
    if motion.reference_s is None or abs(shift) > STOP_RAD:
        return 0.0, np.inf
    return -shift, STOP_U_RAD


@dataclass(frozen=True)
class _Anchor:
    """The first rest: when, hinge axis, and what turned in the specific force then."""

    rest_s: float
    axis: Floats
    turning: Floats

    def by_gravity(
        self, q: Floats, own: Floats, parameters: HingeParameters, sign: float
    ) -> tuple[float, float]:
        """How far the rotation `q` of a window is off by what turns in it, and how sure that is.

        `own` is the same rotation as the window itself counts it. Compared at the same attitudes, so that unequal
        axes of the accelerometer bend both alike.
        """
        few = np.linspace(0, len(q) - 1, 200).astype(int)
        wave = np.column_stack([np.cos(q[few]), np.sin(q[few])])
        there, slope = wave @ self.turning, np.column_stack([-wave[:, 1], wave[:, 0]]) @ self.turning
        now = np.column_stack([np.cos(own[few]), sign * np.sin(own[few])]) @ parameters.turning_m_s2
        size = float(np.sum(slope**2))
        in_plane = min(float(np.linalg.norm(self.turning[0])), parameters.gravity_in_plane_m_s2)
        if in_plane < LEAST_GRAVITY_M_S2:
            return 0.0, np.inf
        u_rad = float(np.hypot(parameters.u_up_rad, OFFSET_U_M_S2 / in_plane))
        return float(np.sum(slope * (now - there))) / size, u_rad


@dataclass(frozen=True)
class _Carried:
    """Rotation at a time and what the gyro needs to carry it on."""

    time_s: float
    q_rad: float
    axis: Floats
    scale: float
    bias_rad_s: float
    u_q_rad: float
