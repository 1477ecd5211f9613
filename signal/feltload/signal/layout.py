"""Where each term's coefficients sit in the fit of all sessions, and how each is kept smooth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feltload.signal.regression import Bases
from feltload.signal.smoothing import Penalty

Floats = NDArray[np.float64]


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
    """

    bases: Bases
    loads_kg: Floats
    centre_kg: float
    scale_kg: float

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
            [design[:, where] * mass if loaded else design[:, where] for _, where, loaded in self.blocks],
            axis=1,
        )

    def gather(self, coefficients: Floats, load_kg: float) -> Floats:
        """Coefficients of the whole fit as those of one session, shape (width,)."""
        mass = self.relative(load_kg)
        out = np.zeros(self.bases.width)
        for (_, where, loaded), part in zip(self.blocks, self.slices().values(), strict=True):
            out[where] += coefficients[part] * (mass if loaded else 1.0)
        return out

    def penalties(self) -> list[Penalty]:
        """One penalty per term: curvature for static, slope for the others, size for viscous and K."""
        orders = {"static": 3, "friction": 2, "inertia": 1}
        out = []
        for (name, loaded), where in self.slices().items():
            size = where.stop - where.start
            if name in orders:
                order = min(orders[name], size - 1)
                matrix = np.diff(np.eye(size), n=order, axis=0)
                out.append(Penalty(where.start, matrix.T @ matrix, size - order))
            elif name == "viscous":
                out.append(Penalty(where.start, np.eye(1), 1))
            else:
                slope = np.diff(np.eye(size), axis=0)
                out.append(Penalty(where.start, slope.T @ slope + 0.1 * np.eye(size), size))
            del loaded
        return out


def layout_for(bases: Bases, loads_kg: Sequence[float]) -> Layout:
    """Layout for the loads of the sessions (equal ones within 1 g counted once)."""
    loads = np.unique(np.round(np.asarray(loads_kg, float), 3))
    scale = float(loads[-1] - loads[0]) / 2.0 if loads.size > 1 else 1.0
    return Layout(bases, loads, float(loads[0] + scale) if loads.size > 1 else float(loads[0]), scale)
