"""The arm's rotation while it is being recorded: causal, in bounded memory.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from feltload.acquisition import InertialCertificate
from feltload.core import Fact, Floats
from feltload.signal.errors import MotionError
from feltload.signal.hinge.data import integrate
from feltload.signal.hinge.estimator import HingeMotion, estimate_hinge
from feltload.signal.hinge.outliers import bridged, disturbed_stretches, jumps, wild_samples
from feltload.signal.noise.densities import InertialNoise
from feltload.signal.noise.filters import median_rate

#: Gravity in the plane below this cannot hold the start; the rotation is carried on by the gyro instead.
LEAST_GRAVITY_M_S2 = 3.0
#: The arm must have turned this far before a first solution is tried.
FIRST_TURN_RAD = np.radians(12.0)
#: Samples before the newest that are looked at for wild ones among these.
CONTEXT = 30


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
    on by the gyro. What keeps q = 0 in place when the first rest has left the window is gravity's direction in the
    sensor's frame at that rest.

    Parameters
    ----------
    noise : InertialNoise, optional
    certificate : InertialCertificate, optional
        As in `estimate_hinge`.
    window_s, solve_every_s : float
        Length of the window and time between solutions, seconds.
    """

    def __init__(
        self,
        *,
        noise: InertialNoise | None = None,
        certificate: InertialCertificate | None = None,
        window_s: float = 30.0,
        solve_every_s: float = 2.0,
    ) -> None:
        self._noise = noise
        self._certificate = certificate
        self._window_s = window_s
        self._every_s = solve_every_s
        self._parts: deque[tuple[Floats, Floats, Floats]] = deque()
        self._solved_s: float | None = None
        self._anchor: _Anchor | None = None
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
        return self._live(times, self._bridged(times, gyro))

    def _bridged(self, times: Floats, gyro: Floats) -> Floats:
        """The newest rates with wild samples bridged, as far as what came so far tells them."""
        parts = [self._parts[-1]]
        while len(parts) < len(self._parts) and sum(len(part[0]) for part in parts) < len(times) + CONTEXT:
            parts.insert(0, self._parts[-1 - len(parts)])
        seen, rates, accel = (np.concatenate(column) for column in zip(*parts, strict=True))
        rate_hz = median_rate(seen) if len(seen) > 1 else 1.0
        wild = wild_samples(seen, rates, accel, rate_hz) | disturbed_stretches(rates, rate_hz)
        # Whether the newest comes back shows only later; no arm jumps like that.
        wild[-1] = len(seen) > 1 and jumps(rates[-2:], rate_hz)[0]
        if not np.any(wild) or np.all(wild):
            return gyro
        return bridged(seen, rates, wild)[len(seen) - len(times) :]

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
            motion = estimate_hinge(times, gyro, accel, noise=self._noise, certificate=self._certificate)
        except MotionError:
            # The arm rests, or has not moved yet: carry on with what there is.
            return
        if self._anchor is None and np.ptp(motion.q_rad) < FIRST_TURN_RAD:
            return
        self._settled = self._settled or times[-1] - times[0] > 0.8 * self._window_s
        self._warnings = motion.warnings
        previous = self._last
        sign, shift = self._anchored(motion, previous)
        parameters = motion.parameters
        self._last = _Carried(
            time_s=float(motion.time_s[-1]),
            q_rad=float(sign * motion.q_rad[-1] + shift),
            axis=sign * parameters.axis,
            scale=1.0 + parameters.gyro_scale,
            bias_rad_s=float(
                sign * (gyro[-1] @ parameters.axis)
                - sign * motion.rate_rad_s[-1] / (1.0 + parameters.gyro_scale)
            ),
            u_q_rad=float(np.hypot(motion.u_q_rad[-1], self._anchor.u_rad if self._anchor else 0.0)),
            gyro=gyro[-1],
        )

    def _anchored(self, motion: HingeMotion, previous: _Carried | None) -> tuple[float, float]:
        """Sign and shift that take the window's rotation to that from the first rest."""
        parameters = motion.parameters
        first = motion.reference_s[0] if motion.reference_s else float(motion.time_s[0])
        if self._anchor is None or previous is None:
            self._anchor = _Anchor(first, parameters.axis, parameters.up_at_start, 0.0)
            return 1.0, 0.0
        sign = float(np.sign(parameters.axis @ self._anchor.axis))
        if motion.reference_s is not None and abs(first - self._anchor.rest_s) < 0.5:
            # The first rest is still in the window and is now known better.
            self._anchor = _Anchor(first, parameters.axis, parameters.up_at_start, 0.0)
            return 1.0, 0.0
        held = float(np.interp(previous.time_s, motion.time_s, motion.q_rad))
        carried = previous.q_rad - sign * held
        if parameters.gravity_in_plane_m_s2 < LEAST_GRAVITY_M_S2:
            return sign, carried
        axis, up = self._anchor.axis, self._anchor.up
        now = parameters.up_at_start
        turned = float(np.arctan2(-now @ np.cross(axis, up), now @ up))
        if self._anchor.u_rad == 0.0:
            offset = parameters.u_up_rad
            self._anchor = _Anchor(self._anchor.rest_s, axis, up, offset)
        return sign, turned + 2.0 * np.pi * round((carried - turned) / (2.0 * np.pi))

    def _live(self, times: Floats, gyro: Floats) -> LiveMotion:
        last = self._last
        if last is None:
            unknown = np.full(len(times), np.nan)
            return LiveMotion(times, unknown, unknown.copy(), unknown.copy(), False, self._warnings)
        rate = last.scale * (gyro @ last.axis - last.bias_rad_s)
        if times[-1] <= last.time_s:
            # Solved to the end of this very push: go back from there.
            along = integrate(times, rate) if len(times) > 1 else np.zeros(1)
            q = last.q_rad + along - along[-1]
        else:
            start = last.scale * (last.gyro @ last.axis - last.bias_rad_s)
            along = integrate(np.concatenate([[last.time_s], times]), np.concatenate([[start], rate]))
            q = last.q_rad + along[1:]
        self._last = _Carried(
            float(times[-1]), float(q[-1]), last.axis, last.scale, last.bias_rad_s, last.u_q_rad, gyro[-1]
        )
        return LiveMotion(times, q, rate, np.full(len(q), last.u_q_rad), self._settled, self._warnings)


@dataclass(frozen=True)
class _Anchor:
    """The first rest: when, hinge axis and gravity's direction in the plane, and how well that holds q = 0."""

    rest_s: float
    axis: Floats
    up: Floats
    u_rad: float


@dataclass(frozen=True)
class _Carried:
    """Rotation at a time and what the gyro needs to carry it on."""

    time_s: float
    q_rad: float
    axis: Floats
    scale: float
    bias_rad_s: float
    u_q_rad: float
    gyro: Floats
