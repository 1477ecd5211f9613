"""Least squares for the hinge: a drift on knots in time, bordered by a few global unknowns.

The drift s(t) of the integrated rate and its rate b(t) sit on knots; they are tied by the gyro's noise. The normal
equations are banded in the knots with a border of 17 columns, so time and memory grow linearly with the record.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.sparse import csr_array

from feltload.signal.errors import MotionError
from feltload.signal.hinge_model import GLOBALS, SCALE, Equations, Linearised, prior_rows
from feltload.signal.noise import InertialNoise

Array = NDArray[np.float64]

KNOT_S = 0.5
MOST_STEPS = 15
#: The drift has settled when no knot moves by more than this in a step.
SETTLED_RAD = 5e-5
#: Degrees of freedom of the residuals' t distribution: knocks and shaking keep little weight.
TAIL = 4.0


@dataclass(frozen=True)
class Knots:
    """Knots of the drift and what ties them.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
    extra_u_rad : ndarray, shape (k - 1,)
        Rotation between knots that the gyro missed (gaps, clipping), standard uncertainty.
    still_rate : ndarray, shape (k,)
        Raw rate about the axis at rest near the knot, rad/s; NaN where nothing rests.
    still_u : ndarray, shape (k,)
    """

    time_s: Array
    extra_u_rad: Array
    still_rate: Array
    still_u: Array

    def weights(self, time_s: Array) -> csr_array:
        """Linear interpolation from knots to times as a sparse matrix (n, k)."""
        right = np.clip(np.searchsorted(self.time_s, time_s, side="right"), 1, len(self.time_s) - 1)
        left_s = self.time_s[right - 1]
        share = (time_s - left_s) / (self.time_s[right] - left_s)
        rows = np.arange(len(time_s))
        entries = np.concatenate([1.0 - share, share])
        places = (np.concatenate([rows, rows]), np.concatenate([right - 1, right]))
        return csr_array((entries, places), shape=(len(time_s), len(self.time_s)))


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
    residual : ndarray, shape (e, 3)
    normal : Normal
    converged : bool
    """

    drift: Array
    drift_rate: Array
    unknown: Array
    cost: float
    sigma: float
    inflation: float
    weight: Array
    residual: Array
    normal: Normal
    converged: bool


@dataclass(frozen=True)
class Normal:
    """Bordered normal equations: `banded` (4, 2k) upper, `border` (2k, 17), `corner` (17, 17)."""

    banded: Array
    border: Array
    corner: Array
    right: Array
    right_corner: Array

    def factor(self) -> tuple[Array, Array, Array]:
        """Cholesky factor of the band, the border solved by it, and the inverse of the Schur complement."""
        try:
            factor = cholesky_banded(self.banded)
            solved = cho_solve_banded((factor, False), self.border)
            schur = self.corner - self.border.T @ solved
            # Unknowns differ in scale by powers of ten: balance before inverting.
            size = np.sqrt(np.abs(np.diag(schur)))
            inverse = np.linalg.inv(schur / np.outer(size, size)) / np.outer(size, size)
        except np.linalg.LinAlgError:
            raise MotionError(
                "the inertial data do not determine the angle of one turning part",
                remedy="check times, axes and units of the inertial sensor",
            ) from None
        return factor, solved, inverse

    def solve(self) -> tuple[Array, Array]:
        factor, solved, inverse = self.factor()
        plain = cho_solve_banded((factor, False), self.right)
        corner = inverse @ (self.right_corner - self.border.T @ plain)
        return plain - solved @ corner, corner


@dataclass(frozen=True)
class Problem:
    """One stretch to solve."""

    equations: Equations
    knots: Knots
    noise: InertialNoise

    def solve(self, drift: Array, drift_rate: Array, unknown: Array, *, steps: int = MOST_STEPS) -> Solution:
        """Gauss-Newton with robust weights and step halving, from given starting values."""
        grid = self.equations.data.time_s
        to_grid = self.knots.weights(grid)
        to_equations = self.knots.weights(self.equations.time_s)
        state = np.column_stack([drift, drift_rate])
        lin = self._linearise(unknown, to_grid, state)
        sigma = self._sigma(lin)
        inflation = self._overlap
        converged = False
        for step in range(steps):
            weight = self._robust(lin, sigma)
            inflation = self._inflation(lin, weight, sigma)
            cost = self._cost(lin, unknown, state, sigma, inflation)
            normal = self._normal(lin, unknown, state, weight / (sigma**2 * inflation), to_equations)
            move_state, move_unknown = normal.solve()
            move_state = move_state.reshape(-1, 2)
            share = 1.0
            while True:
                next_state, next_unknown = state + share * move_state, unknown + share * move_unknown
                next_lin = self._linearise(next_unknown, to_grid, next_state)
                next_cost = self._cost(next_lin, next_unknown, next_state, sigma, inflation)
                if next_cost <= cost + 1e-6 or share < 0.1:
                    break
                share *= 0.5
            state, unknown, lin = next_state, next_unknown, next_lin
            moved = float(np.max(np.abs(move_state[:, 0] - move_state[0, 0])))
            # The scale of the residuals follows the fit; the cost is counted anew at each step.
            sigma = self._sigma(lin)
            if moved < SETTLED_RAD and step > 1:
                converged = True
                break
        weight = self._robust(lin, sigma)
        inflation = self._inflation(lin, weight, sigma)
        normal = self._normal(lin, unknown, state, weight / (sigma**2 * inflation), to_equations)
        return Solution(
            state[:, 0],
            state[:, 1],
            unknown,
            self._cost(lin, unknown, state, sigma, inflation) + 3.0 * float(np.log(sigma)),
            sigma,
            inflation,
            weight,
            lin.residual,
            normal,
            converged,
        )

    def _linearise(self, unknown: Array, to_grid: csr_array, state: Array) -> Linearised:
        on_grid = to_grid @ state
        return self.equations.linearise(unknown, on_grid[:, 0], on_grid[:, 1])

    @property
    def _floor(self) -> float:
        # White noise of the stated density through the low-pass of a quarter of the equations' rate.
        reduce = self.equations.reduce
        passed = float(np.sum(reduce.kernel**2)) * self.equations.data.grid_hz
        return float(self.noise.accel_density_m_s2_rt_hz * np.sqrt(passed))

    def _sigma(self, lin: Linearised) -> float:
        trusted = self.equations.trusted
        size = np.abs(lin.residual[trusted]).ravel()
        return max(1.4826 * float(np.median(size)) if len(size) else 1.0, self._floor)

    def _robust(self, lin: Linearised, sigma: float) -> Array:
        square = np.sum((lin.residual / sigma) ** 2, axis=1)
        return np.where(self.equations.trusted, (TAIL + 3.0) / (TAIL + square), 0.0)

    @property
    def _overlap(self) -> float:
        """Variance of long means of low-passed white noise over what independent equations would give."""
        reduce = self.equations.reduce
        return 1.0 / (reduce.stride * float(np.sum(reduce.kernel**2)))

    def _inflation(self, lin: Linearised, weight: Array, sigma: float) -> float:
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

    def _cost(self, lin: Linearised, unknown: Array, state: Array, sigma: float, inflation: float) -> float:
        trusted = self.equations.trusted
        square = np.sum((lin.residual[trusted] / sigma) ** 2, axis=1)
        data = float(np.sum((TAIL + 3.0) * np.log1p(square / TAIL))) / inflation
        _, prior = prior_rows(unknown, self.equations.data.axis, self.noise)
        ties = self._ties(state, unknown[SCALE])
        return (data + float(prior @ prior) + ties) / max(int(np.count_nonzero(trusted)), 1)

    def _ties(self, state: Array, scale: float) -> float:
        step, information = self._tie_information()
        error = np.column_stack(
            [state[1:, 0] - state[:-1, 0] - step * state[:-1, 1], state[1:, 1] - state[:-1, 1]]
        )
        total = float(np.einsum("ki,kij,kj->", error, information, error))
        total += float((state[0, 1] / self.noise.gyro_bias_u_rad_s) ** 2)
        still, error = self._still_errors(state, scale)
        return total + float(np.sum((error / self.knots.still_u[still]) ** 2))

    def _still_errors(self, state: Array, scale: float) -> tuple[NDArray[np.intp], Array]:
        """Knots at rest and the rate left there: the reading is scaled before the drift takes it away."""
        still = np.flatnonzero(np.isfinite(self.knots.still_rate))
        return still, state[still, 1] + (1.0 + scale) * self.knots.still_rate[still]

    def _tie_information(self) -> tuple[Array, Array]:
        step = np.diff(self.knots.time_s)
        white = self.noise.gyro_density_rad_s_rt_hz**2
        walk = self.noise.gyro_walk_rad_s_rt_s**2
        covariance = np.empty((len(step), 2, 2))
        covariance[:, 0, 0] = white * step + walk * step**3 / 3.0 + self.knots.extra_u_rad**2
        covariance[:, 0, 1] = covariance[:, 1, 0] = walk * step**2 / 2.0
        covariance[:, 1, 1] = walk * step
        return step, np.asarray(np.linalg.inv(covariance), dtype=float)

    def _normal(
        self, lin: Linearised, unknown: Array, state: Array, weight: Array, to_equations: csr_array
    ) -> Normal:
        count = len(self.knots.time_s)
        diagonal, beside = np.zeros((count, 2, 2)), np.zeros((count - 1, 2, 2))
        right = np.zeros((count, 2))
        border = np.zeros((count, 2, GLOBALS))
        self._add_ties(state, diagonal, beside, right)
        still, error = self._still_errors(state, unknown[SCALE])
        information = self.knots.still_u[still] ** -2
        by_scale = self.knots.still_rate[still]
        diagonal[still, 1, 1] += information
        right[still, 1] -= information * error
        border[still, 1, SCALE] += information * by_scale
        # Accelerometer: the angle at each equation is a mix of two knots.
        angle_information = weight * np.sum(lin.by_angle**2, axis=1)
        mixed = csr_array(to_equations.multiply(angle_information[:, None]))
        gram = csr_array(to_equations.T @ mixed)
        diagonal[:, 0, 0] += gram.diagonal()
        beside[:, 0, 0] += gram.diagonal(1)
        right[:, 0] += to_equations.T @ (weight * np.sum(lin.by_angle * lin.residual, axis=1))
        border[:, 0] = to_equations.T @ (
            weight[:, None] * np.einsum("ec,ecg->eg", lin.by_angle, lin.jacobian)
        )
        flat = (np.sqrt(weight)[:, None, None] * lin.jacobian).reshape(-1, GLOBALS)
        corner = flat.T @ flat
        right_corner = flat.T @ (np.sqrt(weight)[:, None] * lin.residual).ravel()
        rows, prior = prior_rows(unknown, self.equations.data.axis, self.noise)
        corner += rows.T @ rows
        right_corner += rows.T @ prior
        corner[SCALE, SCALE] += float(np.sum(information * by_scale**2))
        right_corner[SCALE] -= float(np.sum(information * by_scale * error))
        banded = np.zeros((4, 2 * count))
        banded[3] = np.stack([diagonal[:, 0, 0], diagonal[:, 1, 1]], axis=1).ravel()
        banded[2, 1::2] = diagonal[:, 0, 1]
        banded[2, 2::2] = beside[:, 1, 0]
        banded[1, 2::2] = beside[:, 0, 0]
        banded[1, 3::2] = beside[:, 1, 1]
        banded[0, 3::2] = beside[:, 0, 1]
        return Normal(banded, border.reshape(-1, GLOBALS), corner, right.ravel(), right_corner)

    def _add_ties(self, state: Array, diagonal: Array, beside: Array, right: Array) -> None:
        step, information = self._tie_information()
        forward = np.zeros((len(step), 2, 2))
        forward[:, 0, 0] = forward[:, 1, 1] = 1.0
        forward[:, 0, 1] = step
        error = state[1:] - np.einsum("kij,kj->ki", forward, state[:-1])
        back = np.swapaxes(forward, 1, 2) @ information
        diagonal[1:] += information
        diagonal[:-1] += back @ forward
        beside -= back
        right[1:] -= np.einsum("kij,kj->ki", information, error)
        right[:-1] += np.einsum("kij,kj->ki", back, error)
        # The zero of the drift is free (it turns A and B); the bias is small.
        diagonal[0, 0, 0] += 1e8
        right[0, 0] -= 1e8 * state[0, 0]
        diagonal[0, 1, 1] += self.noise.gyro_bias_u_rad_s**-2
        right[0, 1] -= state[0, 1] * self.noise.gyro_bias_u_rad_s**-2


def knot_covariance(normal: Normal) -> Array:
    """Diagonal 2 x 2 blocks of the inverse of the band, shape (k, 2, 2), by a forward and a backward sweep."""
    banded = normal.banded
    count = banded.shape[1] // 2
    diagonal = np.empty((count, 2, 2))
    diagonal[:, 0, 0], diagonal[:, 1, 1] = banded[3, ::2], banded[3, 1::2]
    diagonal[:, 0, 1] = diagonal[:, 1, 0] = banded[2, 1::2]
    beside = np.empty((count - 1, 2, 2))
    beside[:, 0, 0], beside[:, 1, 1] = banded[1, 2::2], banded[1, 3::2]
    beside[:, 0, 1], beside[:, 1, 0] = banded[0, 3::2], banded[2, 2::2]
    inverse, gain = np.empty_like(diagonal), np.empty_like(beside)
    pivot = diagonal[0]
    for k in range(count - 1):
        inverse[k] = _inverse_2x2(pivot)
        gain[k] = inverse[k] @ beside[k]
        pivot = diagonal[k + 1] - beside[k].T @ gain[k]
    covariance = np.empty_like(diagonal)
    covariance[-1] = _inverse_2x2(pivot)
    for k in range(count - 2, -1, -1):
        covariance[k] = inverse[k] + gain[k] @ covariance[k + 1] @ gain[k].T
    return covariance


def _inverse_2x2(block: Array) -> Array:
    (a, b), (c, d) = block
    return np.asarray(np.array([[d, -b], [-c, a]]) / (a * d - b * c))
