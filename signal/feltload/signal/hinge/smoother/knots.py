"""Knots in time for what wanders (gyro drift, accelerometer offset): ties, and how equations lean on them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import scipy
from numpy.typing import NDArray

from feltload.core import Floats
from feltload.signal.noise.densities import InertialNoise

KNOT_S = 0.5
#: What a knot holds: the drift, its rate, and the accelerometer's offset along two directions across the axis.
STATES = 4
#: Information that holds what is free at zero.
PINNED = 1e8


@dataclass(frozen=True)
class Knots:
    """Knots of the drift.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
    extra_u_rad : ndarray, shape (k - 1,)
        Rotation between knots that the gyro missed (gaps, clipping), standard uncertainty.
    still_rate : ndarray, shape (k,)
        Raw rate about the axis at rest near the knot, rad/s; NaN where nothing rests.
    still_u : ndarray, shape (k,)
    starts : tuple of int
        First knot of each piece between holes; a hole lies between the last knot of a piece and the next one.
    """

    time_s: Floats
    extra_u_rad: Floats
    still_rate: Floats
    still_u: Floats
    starts: tuple[int, ...] = (0,)

    @property
    def pieces(self) -> tuple[slice, ...]:
        """Knots of each piece between holes."""
        return tuple(slice(a, b) for a, b in pairwise([*self.starts, len(self.time_s)]))

    @cached_property
    def still(self) -> NDArray[np.intp]:
        """Knots at rest."""
        return np.flatnonzero(np.isfinite(self.still_rate))

    def on(self, time_s: Floats, state: Floats) -> tuple[Floats, Floats]:
        """Drift and its rate at times, each (n,), straight between the knots, from `state` (k, 4)."""
        return np.interp(time_s, self.time_s, state[:, 0]), np.interp(time_s, self.time_s, state[:, 1])

    def smooth(self, time_s: Floats, drift: Floats, derivative: int = 0) -> Floats:
        """Smooth drift (k,), or its derivative, at rising times (n,): each piece by itself."""
        ends = self.time_s[list(self.starts[1:])]
        cuts = [0, *np.searchsorted(time_s, ends).tolist(), len(time_s)]
        parts = [
            scipy.interpolate.CubicSpline(self.time_s[piece], drift[piece])(time_s[a:b], derivative)
            for piece, (a, b) in zip(self.pieces, pairwise(cuts), strict=True)
        ]
        return np.concatenate(parts)

    def shares(self, time_s: Floats) -> Shares:
        """How equations at rising times within the knots lean on them."""
        right = np.clip(np.searchsorted(self.time_s, time_s, side="right"), 1, len(self.time_s) - 1)
        left_s = self.time_s[right - 1]
        left, starts = np.unique(right - 1, return_index=True)
        return Shares((time_s - left_s) / (self.time_s[right] - left_s), left, starts)


@dataclass(frozen=True)
class Shares:
    """Linear interpolation from knots to equations, as its transpose needs it.

    Attributes
    ----------
    right : ndarray, shape (e,)
        Share of the later knot in each equation.
    left, starts : ndarray of int, shape (s,)
        Earlier knot of each run of equations between the same two knots, and the run's first equation.
    """

    right: Floats
    left: NDArray[np.intp]
    starts: NDArray[np.intp]

    def gather(self, columns: Floats, count: int) -> Floats:
        """Transpose of the interpolation: (e, c) onto `count` knots, (count, c)."""
        right = self.right[:, None] * columns
        both = np.add.reduceat(np.concatenate([columns - right, right], axis=1), self.starts, axis=0)
        out = np.zeros((count, columns.shape[1]))
        out[self.left] = both[:, : columns.shape[1]]
        out[self.left + 1] += both[:, columns.shape[1] :]
        return out

    def gram(self, information: Floats, count: int) -> tuple[Floats, Floats]:
        """Diagonal (count,) and the entries beside it (count - 1,) of the interpolation's weighted square."""
        right, left = self.right, 1.0 - self.right
        columns = np.column_stack([left * left, left * right, right * right]) * information[:, None]
        sums = np.add.reduceat(columns, self.starts, axis=0)
        diagonal, beside = np.zeros(count), np.zeros(count - 1)
        diagonal[self.left] = sums[:, 0]
        diagonal[self.left + 1] += sums[:, 2]
        beside[self.left] = sums[:, 1]
        return diagonal, beside


@dataclass(frozen=True)
class Ties:
    """What the sensor's noise says of successive knots: `state` (k, 4) holds drift, rate and the offset's wandering."""

    knots: Knots
    noise: InertialNoise

    @cached_property
    def step_s(self) -> Floats:
        return np.diff(self.knots.time_s)

    @cached_property
    def information(self) -> Floats:
        """Inverse covariance of what changes between knots, shape (k - 1, 4, 4)."""
        step = self.step_s
        white = self.noise.gyro_density_rad_s_rt_hz**2
        walk = self.noise.gyro_walk_rad_s_rt_s**2
        covariance = np.zeros((len(step), STATES, STATES))
        covariance[:, 0, 0] = white * step + walk * step**3 / 3.0 + self.knots.extra_u_rad**2
        covariance[:, 0, 1] = covariance[:, 1, 0] = walk * step**2 / 2.0
        covariance[:, 1, 1] = walk * step
        covariance[:, 2, 2] = covariance[:, 3, 3] = self.noise.accel_walk_m_s2_rt_s**2 * step
        return np.asarray(np.linalg.inv(covariance), dtype=float)

    @cached_property
    def back(self) -> Floats:
        """Information seen from the earlier knot, shape (k - 1, 4, 4)."""
        return np.asarray(np.swapaxes(self._forward, 1, 2) @ self.information)

    @cached_property
    def _forward(self) -> Floats:
        forward = np.tile(np.eye(STATES), (len(self.step_s), 1, 1))
        forward[:, 0, 1] = self.step_s
        return forward

    @cached_property
    def diagonal(self) -> Floats:
        """Blocks that ties and the prior of the bias put on the knots, shape (k, 4, 4)."""
        out = np.zeros((len(self.knots.time_s), STATES, STATES))
        out[1:] += self.information
        out[:-1] += self.back @ self._forward
        # The zeros of drift and wandering are free (they turn A and B, and move C); the bias is small.
        out[0, [0, 2, 3], [0, 2, 3]] += PINNED
        out[0, 1, 1] += self.noise.gyro_bias_u_rad_s**-2
        return out

    def errors(self, state: Floats) -> Floats:
        """What is left between successive knots, shape (k - 1, 4, 1)."""
        error = state[1:] - state[:-1]
        error[:, 0] -= self.step_s * state[:-1, 1]
        return error[:, :, None]

    def cost(self, state: Floats) -> float:
        error = self.errors(state)
        first = float(state[0, 1] / self.noise.gyro_bias_u_rad_s)
        return float(np.sum(error * (self.information @ error))) + first**2

    def right(self, state: Floats) -> Floats:
        """Right-hand side of the normal equations, shape (k, 4)."""
        error = self.errors(state)
        out = np.zeros_like(state)
        out[1:] -= (self.information @ error)[:, :, 0]
        out[:-1] += (self.back @ error)[:, :, 0]
        out[0, [0, 2, 3]] -= PINNED * state[0, [0, 2, 3]]
        out[0, 1] -= state[0, 1] * self.noise.gyro_bias_u_rad_s**-2
        return out
