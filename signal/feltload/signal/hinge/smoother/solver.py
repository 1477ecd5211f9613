"""Least squares for the hinge: drift and wandering on knots in time, bordered by a few global unknowns.

What sits on the knots is tied by the sensor's noise. The normal equations are banded in the knots with a border of 22
columns, so time and memory grow linearly with the record.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from feltload.core import Flags, Floats
from feltload.signal.hinge.smoother.knots import STATES, Knots, Shares, Ties
from feltload.signal.hinge.smoother.model import GLOBALS, MOVED, SCALE, Equations, Linearised
from feltload.signal.hinge.smoother.normal import Normal
from feltload.signal.hinge.smoother.observed import Observed
from feltload.signal.hinge.smoother.places import Places
from feltload.signal.hinge.smoother.prior import Prior
from feltload.signal.noise.densities import InertialNoise

MOST_STEPS = 25
#: The angle has settled when neither a knot nor the scale moves it by more than this in a step.
SETTLED_RAD = 5e-5
#: The same for a solution that only shows the size of the accelerometer's errors.
ROUGH_RAD = 1.5e-4
#: Degrees of freedom of the residuals' t distribution: knocks and shaking keep little weight.
TAIL = 4.0
#: Information that keeps unknowns of which nothing is known at their place.
LEAST_INFORMATION = 1e-6


@dataclass(frozen=True)
class Solution:
    """The smoother's result.

    Attributes
    ----------
    state : ndarray, shape (k, 4)
        Drift, its rate and the offset's wandering at the knots.
    unknown : ndarray, shape (22,)
        Global unknowns (see `model`).
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
    moved_rad : float
        By how much the last step still moved the angle.
    """

    state: Floats
    unknown: Floats
    cost: float
    sigma: float
    inflation: float
    weight: Floats
    linearised: Linearised
    normal: Normal
    moved_rad: float

    @property
    def drift(self) -> Floats:
        """At the knots, (k,)."""
        return self.state[:, 0]

    @property
    def drift_rate(self) -> Floats:
        """At the knots, (k,)."""
        return self.state[:, 1]


@dataclass(frozen=True)
class Problem:
    """One stretch to solve.

    Attributes
    ----------
    equations : Equations
    knots : Knots
    noise : InertialNoise
    places : Places or None
        Where the arm comes back to.
    by_gravity : bool
        False leaves the accelerometer out: gyroscope, rests and places alone tell the angle.
    """

    equations: Equations
    knots: Knots
    noise: InertialNoise
    places: Places | None = None
    by_gravity: bool = True

    @cached_property
    def prior(self) -> Prior:
        """What is known of the global unknowns beforehand."""
        return Prior(self.equations.data.axis, self.noise, self.equations.data.rolling_m)

    @cached_property
    def trusted(self) -> Flags:
        """Which equations of the accelerometer count."""
        return self.equations.trusted & self.by_gravity

    def again(self, found: Solution) -> Solution:
        """The solution from where another one, of the same knots, ended."""
        return self._settle(found.state, found.unknown, SETTLED_RAD)

    def solve(
        self, drift: Floats, drift_rate: Floats, unknown: Floats, *, settled_rad: float = SETTLED_RAD
    ) -> Solution:
        """The solution from given starting values, with an offset that does not wander."""
        state = np.zeros((len(drift), STATES))
        state[:, 0], state[:, 1] = drift, drift_rate
        return self._settle(state, unknown, settled_rad)

    def _settle(self, state: Floats, unknown: Floats, settled_rad: float) -> Solution:
        """Gauss-Newton with robust weights and step halving."""
        lin, prior = self._linearise(unknown, state), self.prior.at(unknown)
        sigma = self._sigma(lin)
        reach = float(np.ptp(self.equations.data.turned))
        moved = np.inf
        for step in range(MOST_STEPS):
            weight = self._robust(lin, sigma)
            inflation = self._inflation(lin, weight, sigma)
            cost = self._cost(lin, prior[1], unknown, state, sigma, inflation)
            normal = self._normal(lin, prior, unknown, state, weight / (sigma**2 * inflation))
            move_state, move_unknown = normal.solve()
            move_state = move_state.reshape(-1, STATES)
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
            moved = share * max(float(np.max(np.abs(move_state[:, 0] - move_state[0, 0]))), turned)
            # The scale of the residuals follows the fit; the cost is computed again at each step.
            sigma = self._sigma(lin)
            if moved < settled_rad and step > 0:
                break
        weight = self._robust(lin, sigma)
        inflation = self._inflation(lin, weight, sigma)
        return Solution(
            state,
            unknown,
            self._cost(lin, prior[1], unknown, state, sigma, inflation) + 3.0 * float(np.log(sigma)),
            sigma,
            inflation,
            weight,
            lin,
            self._normal(lin, prior, unknown, state, weight / (sigma**2 * inflation)),
            moved,
        )

    def evidence_cost(self, found: Solution, seen: Observed) -> float:
        """Minus twice the logarithm of the evidence for this problem's noise, up to what the data alone decide.

        Linearised at a solution, of this or another noise, with what was `observed` there.
        """
        prior = self.prior.at(found.unknown)
        normal = self._with_ties(seen, found.state, prior)
        step_state, step_unknown = normal.solve()
        gained = float(normal.right @ step_state + normal.right_corner @ step_unknown)
        size = float(np.sum(np.linalg.slogdet(self.ties.information)[1]))
        known = self.ties.cost(found.state) + float(prior[1] @ prior[1])
        return known - gained + normal.log_size - size

    def observed(self, found: Solution) -> Observed:
        """What data, rests and places say at a solution, with its weights."""
        weight = found.weight / (found.sigma**2 * found.inflation)
        return self._observed(found.linearised, found.unknown, found.state, weight)

    def _linearise(self, unknown: Floats, state: Floats) -> Linearised:
        when = self.equations.time_s
        wandered = np.stack([np.interp(when, self.knots.time_s, state[:, i]) for i in MOVED[1:]], axis=1)
        drift = self.knots.on(self.equations.data.time_s, state)
        return self.equations.linearise(unknown, *drift, wandered)

    @cached_property
    def _floor(self) -> float:
        # White noise of the stated density through the low-pass of a quarter of the equations' rate. What vibration
        # adds to the density lies above it; the residuals show what of it comes through.
        reduce = self.equations.reduce
        passed = float(np.sum(reduce.kernel**2)) * self.equations.data.grid_hz
        density = min(self.noise.accel_density_m_s2_rt_hz, InertialNoise().accel_density_m_s2_rt_hz)
        return density * float(np.sqrt(passed))

    def _sigma(self, lin: Linearised) -> float:
        trusted = self.trusted
        size = np.abs(lin.residual[trusted]).ravel()
        return max(1.4826 * float(np.median(size)) if len(size) else 1.0, self._floor)

    def _robust(self, lin: Linearised, sigma: float) -> Floats:
        square = np.sum((lin.residual / sigma) ** 2, axis=1)
        return np.where(self.trusted, (TAIL + 3.0) / (TAIL + square), 0.0)

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
        trusted = self.trusted
        square = np.sum((lin.residual[trusted] / sigma) ** 2, axis=1)
        data = float(np.sum((TAIL + 3.0) * np.log1p(square / TAIL))) / inflation
        rest = self._still_errors(state, unknown[SCALE]) / self.knots.still_u[self.knots.still]
        ties = self.ties.cost(state) + float(rest @ rest)
        if self.places is not None:
            ties += self.places.cost(self._place_errors(state, unknown))
        return (data + float(prior @ prior) + ties) / max(int(np.count_nonzero(trusted)), 1)

    @cached_property
    def ties(self) -> Ties:
        return Ties(self.knots, self.noise)

    def _still_errors(self, state: Floats, scale: float) -> Floats:
        """Rate left at the resting knots: the reading is scaled before the drift takes it away."""
        still = self.knots.still
        return np.asarray(state[still, 1] + (1.0 + scale) * self.knots.still_rate[still])

    def _place_errors(self, state: Floats, unknown: Floats) -> Floats:
        """Angle left at the places, (p,)."""
        assert self.places is not None
        drift = np.interp(self.places.time_s, self.knots.time_s, state[:, 0])
        return self.places.errors(drift, unknown)

    @cached_property
    def shares(self) -> Shares:
        return self.knots.shares(self.equations.time_s)

    def _normal(
        self, lin: Linearised, prior: tuple[Floats, Floats], unknown: Floats, state: Floats, weight: Floats
    ) -> Normal:
        return self._with_ties(self._observed(lin, unknown, state, weight), state, prior)

    def _with_ties(self, seen: Observed, state: Floats, prior: tuple[Floats, Floats]) -> Normal:
        """Normal equations of what was observed, the ties between the knots and the prior."""
        rows, error = prior
        corner = seen.corner + rows.T @ rows
        corner[np.diag_indices(GLOBALS)] += LEAST_INFORMATION
        return Normal.of(
            seen.diagonal + self.ties.diagonal,
            seen.beside - self.ties.back,
            seen.border,
            corner,
            seen.right + self.ties.right(state),
            seen.right_corner + rows.T @ error,
        )

    def _observed(self, lin: Linearised, unknown: Floats, state: Floats, weight: Floats) -> Observed:
        """Accelerometer, rests and places in the normal equations."""
        seen = Observed.nothing(len(self.knots.time_s))
        if self.by_gravity:
            seen.add_equations(lin, weight, self.shares)
        still = self.knots.still
        error, by_scale = self._still_errors(state, unknown[SCALE]), self.knots.still_rate[still]
        seen.add_rests(still, self.knots.still_u[still] ** -2, error, by_scale)
        if self.places is not None:
            error = self._place_errors(state, unknown)
            seen.add_places(
                self.places.weight(error), error, self.places.by_unknown, self.places.shares(self.knots)
            )
        return seen
