"""Least squares for the hinge: a drift on knots in time, bordered by a few global unknowns.

The drift s(t) of the integrated rate and its rate b(t) sit on knots; they are tied by the gyro's noise. The normal
equations are banded in the knots with a border of 17 columns, so time and memory grow linearly with the record.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from feltload.core import Floats
from feltload.signal.hinge.smoother.knots import Knots, Shares, Ties
from feltload.signal.hinge.smoother.model import GLOBALS, SCALE, SQUARENESS_ROWS, Equations, Linearised, Prior
from feltload.signal.hinge.smoother.normal import Normal
from feltload.signal.noise.densities import InertialNoise

MOST_STEPS = 15
#: The angle has settled when neither a knot nor the scale moves it by more than this in a step.
SETTLED_RAD = 5e-5
#: The same for a solution that only shows the size of the accelerometer's errors.
ROUGH_RAD = 1.5e-4
#: Degrees of freedom of the residuals' t distribution: knocks and shaking keep little weight.
TAIL = 4.0
#: What is usual for an accelerometer's axes counts as this many readings when their size is learned, within this range.
USUAL_WEIGHT = 2.0
SQUARENESS_RANGE = (0.0008, 0.008)


@dataclass(frozen=True)
class Solution:
    """The smoother's result.

    Attributes
    ----------
    drift, drift_rate : ndarray, shape (k,)
        At the knots.
    unknown : ndarray, shape (17,)
        Global unknowns (see `hinge_model`).
    cost : float
        Minus twice the logarithm of the posterior, up to a constant, per equation.
    sigma : float
        Standard deviation of an accelerometer equation's residual, m/s².
    inflation : float
        How much more the residuals' slow part varies than white ones would.
    weight : ndarray, shape (e,)
        Robust weight of each equation.
    linearised : Linearised
        The accelerometer's equations at the result.
    normal : Normal
    converged : bool
    """

    drift: Floats
    drift_rate: Floats
    unknown: Floats
    cost: float
    sigma: float
    inflation: float
    weight: Floats
    linearised: Linearised
    normal: Normal
    converged: bool


@dataclass(frozen=True)
class Problem:
    """One stretch to solve."""

    equations: Equations
    knots: Knots
    noise: InertialNoise

    @cached_property
    def prior(self) -> Prior:
        """What is known of the global unknowns beforehand."""
        return Prior(self.equations.data.axis, self.noise)

    @property
    def learns(self) -> bool:
        """Whether the size of the accelerometer's errors is left to the data."""
        return self.noise.accel_scale_limit_u > self.noise.accel_scale_u

    def learned(self, found: Solution) -> Problem:
        """The problem with the accelerometer's scale and squareness of the size that a first solution shows.

        One step of expectation maximisation on that size, with what is usual counting as `USUAL_WEIGHT` readings beside
        the four in the data. A size that was calibrated stays.
        """
        noise = self.noise
        if not self.learns:
            return self
        rows = self.prior.at(found.unknown)[0][SQUARENESS_ROWS]
        seen = (rows @ found.unknown) ** 2 + np.einsum("ij,jk,ik->i", rows, found.normal.inverse, rows)
        size = noise.accel_scale_u * np.sqrt((USUAL_WEIGHT + np.sum(seen)) / (USUAL_WEIGHT + len(seen)))
        size = float(np.clip(size, *SQUARENESS_RANGE))
        limit = max(noise.accel_scale_limit_u, size)
        return replace(self, noise=replace(noise, accel_scale_u=size, accel_scale_limit_u=limit))

    def solve(
        self, drift: Floats, drift_rate: Floats, unknown: Floats, *, settled_rad: float = SETTLED_RAD
    ) -> Solution:
        """Gauss-Newton with robust weights and step halving, from given starting values."""
        state = np.column_stack([drift, drift_rate])
        lin, prior = self._linearise(unknown, state), self.prior.at(unknown)
        sigma = self._sigma(lin)
        reach = float(np.ptp(self.equations.data.turned))
        converged = False
        for step in range(MOST_STEPS):
            weight = self._robust(lin, sigma)
            inflation = self._inflation(lin, weight, sigma)
            cost = self._cost(lin, prior[1], unknown, state, sigma, inflation)
            normal = self._normal(lin, prior, unknown, state, weight / (sigma**2 * inflation))
            move_state, move_unknown = normal.solve()
            move_state = move_state.reshape(-1, 2)
            share = 1.0
            while True:
                next_state, next_unknown = state + share * move_state, unknown + share * move_unknown
                next_lin, next_prior = self._linearise(next_unknown, next_state), self.prior.at(next_unknown)
                next_cost = self._cost(next_lin, next_prior[1], next_unknown, next_state, sigma, inflation)
                if next_cost <= cost + 1e-6 or share < 0.1:
                    break
                share *= 0.5
            state, unknown, lin, prior = next_state, next_unknown, next_lin, next_prior
            turned = float(abs(move_unknown[SCALE])) * reach
            moved = max(float(np.max(np.abs(move_state[:, 0] - move_state[0, 0]))), turned)
            # The scale of the residuals follows the fit; the cost is computed again at each step.
            sigma = self._sigma(lin)
            if moved < settled_rad and step > 0:
                converged = True
                break
        weight = self._robust(lin, sigma)
        inflation = self._inflation(lin, weight, sigma)
        return Solution(
            state[:, 0],
            state[:, 1],
            unknown,
            self._cost(lin, prior[1], unknown, state, sigma, inflation) + 3.0 * float(np.log(sigma)),
            sigma,
            inflation,
            weight,
            lin,
            self._normal(lin, prior, unknown, state, weight / (sigma**2 * inflation)),
            converged,
        )

    def _linearise(self, unknown: Floats, state: Floats) -> Linearised:
        return self.equations.linearise(unknown, *self.knots.on(self.equations.data.time_s, state))

    @cached_property
    def _floor(self) -> float:
        # White noise of the stated density through the low-pass of a quarter of the equations' rate.
        reduce = self.equations.reduce
        passed = float(np.sum(reduce.kernel**2)) * self.equations.data.grid_hz
        return float(self.noise.accel_density_m_s2_rt_hz * np.sqrt(passed))

    def _sigma(self, lin: Linearised) -> float:
        trusted = self.equations.trusted
        size = np.abs(lin.residual[trusted]).ravel()
        return max(1.4826 * float(np.median(size)) if len(size) else 1.0, self._floor)

    def _robust(self, lin: Linearised, sigma: float) -> Floats:
        square = np.sum((lin.residual / sigma) ** 2, axis=1)
        return np.where(self.equations.trusted, (TAIL + 3.0) / (TAIL + square), 0.0)

    @cached_property
    def _overlap(self) -> float:
        """Variance of long means of low-passed white noise over what independent equations would give."""
        reduce = self.equations.reduce
        return 1.0 / (reduce.stride * float(np.sum(reduce.kernel**2)))

    def _inflation(self, lin: Linearised, weight: Floats, sigma: float) -> float:
        """Variance of half-second means of the residuals over what independent ones would give.

        The drift follows the residuals' slow part in the direction in which the angle moves them, so only what is
        square to it is counted; never less than the low-pass alone makes.
        """
        group = 6
        count = len(weight) // group
        if count < 4:
            return self._overlap
        size = np.linalg.norm(lin.by_angle, axis=1, keepdims=True)
        unit = lin.by_angle / np.maximum(size, 1e-9)
        square = lin.residual - np.sum(lin.residual * unit, axis=1, keepdims=True) * unit
        cut = count * group
        weighted = (weight[:, None] * square)[:cut].reshape(count, group, 3).sum(axis=1)
        total = weight[:cut].reshape(count, group).sum(axis=1)
        full = total > 0.5 * group
        if np.count_nonzero(full) < 4:
            return self._overlap
        means = weighted[full] / total[full, None]
        # Two of three directions remain in the mean square.
        spread = float(np.median(np.sum(means**2, axis=1))) / (2.0 * np.log(2.0))
        return float(np.clip(group * spread / sigma**2, self._overlap, 15.0 * self._overlap))

    def _cost(
        self, lin: Linearised, prior: Floats, unknown: Floats, state: Floats, sigma: float, inflation: float
    ) -> float:
        trusted = self.equations.trusted
        square = np.sum((lin.residual[trusted] / sigma) ** 2, axis=1)
        data = float(np.sum((TAIL + 3.0) * np.log1p(square / TAIL))) / inflation
        rest = self._still_errors(state, unknown[SCALE]) / self.knots.still_u[self.knots.still]
        ties = self._ties.cost(state) + float(rest @ rest)
        return (data + float(prior @ prior) + ties) / max(int(np.count_nonzero(trusted)), 1)

    @cached_property
    def _ties(self) -> Ties:
        return Ties(self.knots, self.noise)

    def _still_errors(self, state: Floats, scale: float) -> Floats:
        """Rate left at the resting knots: the reading is scaled before the drift takes it away."""
        still = self.knots.still
        return np.asarray(state[still, 1] + (1.0 + scale) * self.knots.still_rate[still])

    @cached_property
    def _shares(self) -> Shares:
        return self.knots.shares(self.equations.time_s)

    def _normal(
        self, lin: Linearised, prior: tuple[Floats, Floats], unknown: Floats, state: Floats, weight: Floats
    ) -> Normal:
        count = len(self.knots.time_s)
        diagonal, beside = self._ties.diagonal.copy(), -self._ties.back
        right = self._ties.right(state)
        still, error = self.knots.still, self._still_errors(state, unknown[SCALE])
        information = self.knots.still_u[still] ** -2
        by_scale = self.knots.still_rate[still]
        diagonal[still, 1, 1] += information
        right[still, 1] -= information * error
        # Accelerometer: the angle at each equation is a mix of two knots.
        on_knots, between = self._shares.gram(weight * np.sum(lin.by_angle**2, axis=1), count)
        diagonal[:, 0, 0] += on_knots
        beside[:, 0, 0] += between
        gathered = self._shares.gather(lin.against_angle(weight), count)
        right[:, 0] += gathered[:, GLOBALS]
        border = np.zeros((count, 2, GLOBALS))
        border[:, 0] = gathered[:, :GLOBALS]
        border[still, 1, SCALE] += information * by_scale
        corner, right_corner = lin.against_unknowns(weight)
        rows, error_of_prior = prior
        corner += rows.T @ rows
        right_corner += rows.T @ error_of_prior
        corner[SCALE, SCALE] += float(np.sum(information * by_scale**2))
        right_corner[SCALE] -= float(np.sum(information * by_scale * error))
        return Normal.of(diagonal, beside, border, corner, right, right_corner)
