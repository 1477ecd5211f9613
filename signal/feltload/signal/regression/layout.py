"""Where each term's coefficients sit in the fit of all sessions, and how each is kept smooth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import scipy

from feltload.core import Floats
from feltload.signal.regression.rows import Bases
from feltload.signal.regression.smoothing import Penalty, Scale
from feltload.signal.regression.splines import SplineBasis

BEND_LEVEL_PER_RAD, BEND_SLOPE_PER_RAD2, BEND_REST_PER_RAD = 0.15, 0.5, 0.05
"""Sizes of R'/(2R) where the travel R per radian varies as under a fixed line of pull: -cot(d)/2 with d between lever
and line, so nearly a straight line along the travel with slope 1/(2 sin(d)^2)."""

BEND_REST_LENGTH_RAD = 0.6
UNSTATED_BEND = Scale(0.001, 0.6)
STATED_BEND = Scale(0.001, 0.6, expected=0.05, weight=3.0)
"""Common factor of these sizes; where the machine's description states the travel, that is nearly all of it."""

VISCOUS_N_PER_RAD_S = Scale(1.0, 30.0, expected=3.0, weight=1.0)
"""Sizes of the viscous factor at a handle (common practice, no source). Where the rates hardly vary it looks like
friction; shrunk to nothing, friction would take its part and be certain of it."""

LEAST_FELT_SHARE = 0.1


@dataclass(frozen=True)
class Layout:
    """Where each term's coefficients sit.

    Attributes
    ----------
    bases : Bases
        Splines of the terms.
    loads_kg : ndarray, shape (m,)
        Loads measured, ascending.
    centre_kg, scale_kg : float
        The loads enter as ``(load - centre) / scale`` so that both parts of a term are well separated.
    felt : (float, float)
        Typical felt inertia at the middle load, and what one unit of relative load adds; the factor of the squared rate
        is counted in it, because what a changing handle travel adds is proportional to the inertia.
    """

    bases: Bases
    loads_kg: Floats
    centre_kg: float
    scale_kg: float
    felt: tuple[float, float] = (1.0, 0.0)

    @property
    def loads_differ(self) -> bool:
        """Whether terms have a slope with the load."""
        return self.loads_kg.size > 1

    def relative(self, load_kg: float) -> float:
        """Load in the units of the regression."""
        return (load_kg - self.centre_kg) / self.scale_kg

    @property
    def blocks(self) -> list[tuple[str, slice, bool]]:
        """Term, columns in one session's design, whether it takes the load, in coefficient order."""
        f, c, j = self.bases.static.size, self.bases.friction.size, self.bases.inertia.size
        static, friction = slice(0, f), slice(f, f + c)
        viscous = slice(f + c, f + c + 1)
        inertia, squared = slice(f + c + 1, f + c + 1 + j), slice(f + c + 1 + j, f + c + 1 + 2 * j)
        order = [("static", static), ("friction", friction), ("viscous", viscous)]
        order += [("inertia", inertia), ("squared", squared)]
        blocks = []
        for name, where in order:
            blocks.append((name, where, False))
            if self.loads_differ and name in ("static", "friction", "inertia"):
                blocks.append((name, where, True))
        return blocks

    def slices(self) -> dict[tuple[str, bool], slice]:
        """Coefficients of each term and of its slope with the load."""
        out, start = {}, 0
        for name, where, loaded in self.blocks:
            size = where.stop - where.start
            out[name, loaded] = slice(start, start + size)
            start += size
        return out

    @property
    def size(self) -> int:
        """Number of coefficients."""
        return sum(where.stop - where.start for _, where, _ in self.blocks)

    def spread(self, design: Floats, load_kg: float) -> Floats:
        """One session's design in the coefficients of the whole fit, shape (r, size)."""
        mass = self.relative(load_kg)
        return np.concatenate(
            [
                design[:, where] * self._factor(name, loaded, mass)
                if loaded or name == "squared"
                else design[:, where]
                for name, where, loaded in self.blocks
            ],
            axis=1,
        )

    def _factor(self, name: str, loaded: bool, mass: float) -> float:
        """What a term's columns are multiplied by at a relative load."""
        if name == "squared":
            return self.felt[0] + self.felt[1] * mass
        return mass if loaded else 1.0

    def gather(self, coefficients: Floats, load_kg: float) -> Floats:
        """Coefficients of the whole fit as those of one session, shape (width,)."""
        mass = self.relative(load_kg)
        out = np.zeros(self.bases.width)
        for (name, where, loaded), part in zip(self.blocks, self.slices().values(), strict=True):
            out[where] += coefficients[part] * self._factor(name, loaded, mass)
        return out

    @cached_property
    def penalties(self) -> tuple[Penalty, ...]:
        """One penalty per term: curvature for static, slope for the others, size for viscous and squared rate."""
        orders = {"static": 3, "friction": 2, "inertia": 1}
        out = []
        for (name, _), where in self.slices().items():
            size = where.stop - where.start
            if name in orders:
                order = min(orders[name], size - 1)
                matrix = np.diff(np.eye(size), n=order, axis=0)
                out.append(Penalty(where.start, matrix.T @ matrix, size - order))
            elif name == "viscous":
                out.append(Penalty(where.start, np.eye(1), 1, VISCOUS_N_PER_RAD_S))
            else:
                precision = scipy.linalg.inv(_bend_covariance(self.bases.inertia))
                scale = UNSTATED_BEND if self.bases.travel is None else STATED_BEND
                out.append(Penalty(where.start, precision, size, scale))
        return tuple(out)

    def with_felt(self, coefficients: Floats) -> Layout:
        """The same layout with the typical felt inertia of a first fit."""
        slices = self.slices()
        middle = abs(float(np.mean(coefficients[slices["inertia", False]])))
        slope = float(np.mean(coefficients[slices["inertia", True]])) if self.loads_differ else 0.0
        limit = (1.0 - LEAST_FELT_SHARE) * middle
        return replace(self, felt=(max(middle, 1e-6), float(np.clip(slope, -limit, limit))))


def _bend_covariance(basis: SplineBasis) -> Floats:
    """Covariance of the coefficients of k = R'/(2R) in 1/rad: a level, a slope and a little of any shape."""
    q = basis.low + basis.step * (np.arange(basis.size) - 1.0)
    along, apart = q - np.mean(q), q[:, None] - q[None, :]
    line = BEND_LEVEL_PER_RAD**2 + BEND_SLOPE_PER_RAD2**2 * np.outer(along, along)
    rest = BEND_REST_PER_RAD**2 * np.exp(-0.5 * (apart / BEND_REST_LENGTH_RAD) ** 2)
    return np.asarray(line + rest + 1e-4 * np.eye(q.size))


def layout_for(bases: Bases, loads_kg: Sequence[float]) -> Layout:
    """Layout for the loads of the sessions (equal ones within 1 g counted once)."""
    loads = np.unique(np.round(np.asarray(loads_kg, float), 3))
    scale = float(loads[-1] - loads[0]) / 2.0 if loads.size > 1 else 1.0
    return Layout(bases, loads, float(loads[0] + scale) if loads.size > 1 else float(loads[0]), scale)
