"""What the accelerometer of a part on a hinge should read, and how that changes with every unknown.

With the angle theta about the axis j, the specific force in the sensor's frame is linear in five functions of time:

    a = C + A cos(theta) + B sin(theta) + D rate**2 + E acceleration

A turns with gravity in the plane of motion, C holds gravity along the axis and the offsets, D = -r and E = j x r
belong to the mount's radius vector r. An ideal accelerometer has B = -j x A and E = -j x D; scale errors and axes
that are not square bend these relations a little, so they are priors here, not constraints. C wanders: with the time
and temperature an offset walks, and what it does across the axis looks like a turn where gravity has little to say.

Where the axle itself travels in a straight line as the part turns, as of a wheel that rolls, its acceleration adds

    (P cos(theta) + Q sin(theta)) acceleration,        Q = -j x P,

P being the axle's travel per radian, a vector that stays put in space as gravity does.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from feltload.core import Flags, Floats
from feltload.signal.hinge.data import HingeData

GRAVITY_M_S2 = 9.80665
#: Standard uncertainty of gravity at a place that is not stated (9.78 at the equator, 9.83 at the poles).
GRAVITY_U_M_S2 = 0.015
#: The accelerometer's equations are kept at about this rate, behind a low-pass of a quarter of it.
EQUATION_HZ = 12.5
FUNCTIONS = 5
SCALE, DELAY = 15, 16
#: Angles of the places to which the arm returns: the start stop, and either end of the travel (see `places`).
LEVELS = slice(17, 20)
#: Travel of the axle per radian along the two directions `across` the axis, metres; nothing for a fixed hinge.
ROLLING = slice(20, 22)
GLOBALS = 22
#: Of a knot's states, the drift and the offset's wandering move the accelerometer's equations; the rate does not.
MOVED = (0, 2, 3)


@dataclass(frozen=True)
class Reduced:
    """Low-pass and decimation of columns on the working grid."""

    stride: int
    kernel: Floats

    @classmethod
    def for_rate(cls, grid_hz: float) -> Reduced:
        stride = max(1, round(grid_hz / EQUATION_HZ))
        kernel = np.hanning(4 * stride + 1)
        return cls(stride, kernel / kernel.sum())

    def __call__(self, rows: Floats) -> Floats:
        """Low-passed and thinned along the last axis: (..., m) to (..., e)."""
        blocks = (rows.shape[-1] - 1) // self.stride
        cut = rows[..., : blocks * self.stride].reshape(*rows.shape[:-1], blocks, self.stride)
        # The window's last weight is zero, so it covers four blocks; each block's four sums are one product.
        parts = cut @ self.kernel[:-1].reshape(4, self.stride).T
        length = max(blocks - 3, 0)
        return np.asarray(sum(parts[..., i : i + length, i] for i in range(4)))

    def centres(self, count: int) -> NDArray[np.intp]:
        last = (count - 1) // self.stride
        return np.arange(2, last - 1) * self.stride


@dataclass(frozen=True)
class Equations:
    """The accelerometer's equations of one stretch.

    Attributes
    ----------
    data : HingeData
    reduce : Reduced
    time_s : ndarray, shape (e,)
    measured : ndarray, shape (e, 3)
        Low-passed specific force.
    trusted : ndarray of bool, shape (e,)
    """

    data: HingeData
    reduce: Reduced
    time_s: Floats
    measured: Floats
    trusted: Flags

    @classmethod
    def of(cls, data: HingeData) -> Equations:
        reduce = Reduced.for_rate(data.grid_hz)
        share = reduce(data.valid.astype(float))
        measured = np.ascontiguousarray(reduce(data.accel.T).T)
        return cls(data, reduce, data.time_s[reduce.centres(len(data.time_s))], measured, share > 0.98)

    def functions(self, scale: float, drift: Floats, drift_rate: Floats) -> Floats:
        """The five functions, shape (5, e), for a scale error and a drift on the working grid."""
        theta = (1.0 + scale) * self.data.turned + drift
        rate = (1.0 + scale) * self.data.rate + drift_rate
        rows = np.stack(
            [np.ones_like(theta), np.cos(theta), np.sin(theta), rate**2, (1.0 + scale) * self.data.slope]
        )
        return self.reduce(rows)

    @cached_property
    def across(self) -> Floats:
        """Two directions square to the axis and to each other, (2, 3)."""
        return np.asarray(np.linalg.svd(self.data.axis[None, :])[2][1:])

    def linearise(self, unknown: Floats, drift: Floats, drift_rate: Floats, wandered: Floats) -> Linearised:
        """Residuals and derivatives at the global unknowns (22,), the drift on the working grid (m,) and the offset's
        wandering at the equations (e, 2)."""
        scale = unknown[SCALE]
        data = self.data
        coefficients = unknown[:15].reshape(FUNCTIONS, 3)
        theta = (1.0 + scale) * data.turned + drift
        rate = (1.0 + scale) * data.rate + drift_rate
        rows = np.empty((11, len(theta)))
        np.cos(theta, out=rows[0])
        np.sin(theta, out=rows[1])
        rows[2] = rate**2
        rows[3] = (1.0 + scale) * data.slope
        rows[4:6] = data.turned * rows[:2]
        rows[6:8] = rate * rows[:2]
        rows[8] = 2.0 * rate * data.rate
        rows[9] = data.slope
        rows[10] = 2.0 * rate * rows[3]
        low = self.reduce(rows)
        _, a, b, d, e = coefficients
        by_angle = low[:2].T @ np.stack([b, -a])
        by_scale = low[[4, 5, 8, 9]].T @ np.stack([b, -a, d, e])
        by_delay = low[[6, 7, 10]].T @ np.stack([-b, a, -d])
        functions = np.concatenate([np.ones((1, low.shape[1])), low[:4]])
        predicted = functions.T @ coefficients
        by_rolling: tuple[Floats, ...] = ()
        if data.rolling_m:
            rolled = self._rolled(unknown[ROLLING], scale, rows[:2], rate)
            by_rolling = rolled.by_travel
            predicted += rolled.added
            by_angle += rolled.by_angle
            by_scale += rolled.by_scale
            by_delay += rolled.by_delay
        residual = self.measured - predicted - unknown[DELAY] * by_delay - wandered @ self.across
        return Linearised(residual, by_angle, self.across, functions, by_scale, by_delay, by_rolling)

    def _rolled(self, travel: Floats, scale: float, circle: Floats, rate: Floats) -> _Rolled:
        """What an axle that travels (2,) metres per radian adds; `circle` is cosine and sine of the angle (2, m)."""
        data = self.data
        slope = (1.0 + scale) * data.slope
        jerk = np.gradient(slope) * data.grid_hz
        low = self.reduce(
            np.concatenate(
                [slope * circle, data.turned * slope * circle, jerk * circle, rate * slope * circle]
            )
        ).reshape(4, 2, -1)
        # Rows: what stands still turns backwards in the sensor's frame.
        turned_back = -np.cross(data.axis, self.across)
        p, q = travel @ self.across, travel @ turned_back
        with_it, ahead = np.stack([p, q]), np.stack([q, -p])
        added = low[0].T @ with_it
        return _Rolled(
            added,
            by_travel=tuple(
                low[0].T @ np.stack([one, other]) for one, other in zip(self.across, turned_back, strict=True)
            ),
            by_angle=low[0].T @ ahead,
            by_scale=added / (1.0 + scale) + low[1].T @ ahead,
            by_delay=-(low[2].T @ with_it) - low[3].T @ ahead,
        )


@dataclass(frozen=True)
class _Rolled:
    """What an axle's acceleration adds to the specific force (e, 3), and its derivatives."""

    added: Floats
    by_travel: tuple[Floats, ...]
    by_angle: Floats
    by_scale: Floats
    by_delay: Floats


@dataclass(frozen=True)
class Linearised:
    """Residuals of the equations and their derivatives.

    Attributes
    ----------
    residual, by_angle, by_scale, by_delay : ndarray, shape (e, 3)
    across : ndarray, shape (2, 3)
        Derivative to the offset's wandering, the same at all equations.
    functions : ndarray, shape (5, e)
        Derivative to the first 15 global unknowns: each function stands for all three components alike.
    by_rolling : tuple of ndarray, shape (e, 3)
        To the axle's travel per radian along each direction across; none where the axle stays.
    """

    residual: Floats
    by_angle: Floats
    across: Floats
    functions: Floats
    by_scale: Floats
    by_delay: Floats
    by_rolling: tuple[Floats, ...] = ()

    @property
    def others(self) -> tuple[tuple[int, Floats], ...]:
        """Global unknowns after the first 15 that move the equations, each with its derivative (e, 3)."""
        rolling = range(ROLLING.start, ROLLING.stop)
        return ((SCALE, self.by_scale), (DELAY, self.by_delay), *zip(rolling, self.by_rolling, strict=False))

    def against_states(self, weight: Floats) -> Floats:
        """Weighted products of the derivatives to what `MOVED` names with those to the globals and the residual.

        Shape (e, 3, 23).
        """
        out = np.zeros((len(weight), len(MOVED), GLOBALS + 1))
        for state, moved in enumerate(self._moved):
            weighted = weight[:, None] * moved
            out[:, state, :15] = (self.functions.T[:, :, None] * weighted[:, None, :]).reshape(-1, 15)
            for column, other in (*self.others, (GLOBALS, self.residual)):
                out[:, state, column] = np.sum(weighted * other, axis=1)
        return out

    @property
    def _moved(self) -> tuple[Floats, ...]:
        return (self.by_angle, *(np.broadcast_to(way, self.by_angle.shape) for way in self.across))

    def between_states(self, weight: Floats) -> Floats:
        """Weighted products of the derivatives to what `MOVED` names among themselves, (e, 3, 3)."""
        moved = np.stack(self._moved, axis=1)
        return np.asarray((weight[:, None, None] * moved) @ moved.transpose(0, 2, 1))

    def against_unknowns(self, weight: Floats) -> tuple[Floats, Floats]:
        """Weighted normal matrix (22, 22) and right-hand side (22,) of the global unknowns."""
        weighted = self.functions * weight
        corner, right = np.zeros((GLOBALS, GLOBALS)), np.zeros(GLOBALS)
        corner[:15, :15] = np.kron(weighted @ self.functions.T, np.eye(3))
        at = [column for column, _ in self.others]
        columns = [*(other for _, other in self.others), self.residual]
        last = np.concatenate(columns, axis=1)
        products = (weighted @ last).reshape(FUNCTIONS, len(columns), 3)
        for number, column in enumerate(at):
            corner[:15, column] = corner[column, :15] = products[:, number].ravel()
        flat = last.reshape(-1, len(columns), 3).swapaxes(0, 1).reshape(len(columns), -1)
        small = (flat * np.repeat(weight, 3)) @ flat.T
        corner[np.ix_(at, at)] = small[:-1, :-1]
        right[:15], right[at] = products[:, -1].ravel(), small[:-1, -1]
        return corner, right
