"""A final fit with its normal equations, for what propagates errors through it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import Floats
from feltload.signal.regression.smoothing import inverse_of, penalised

if TYPE_CHECKING:
    from feltload.signal.regression.fit import Fit
    from feltload.signal.regression.layout import Layout
    from feltload.signal.regression.rows import Rows


@dataclass(frozen=True)
class Solved:
    """A final fit with what is needed to propagate errors through it.

    Attributes
    ----------
    sessions : tuple of Rows
    layout : Layout
    fit : Fit
    inverse : ndarray, shape (p, p)
        Inverse of the penalised normal matrix at the final weights.
    data, penalised : ndarray, shape (p, p)
        The normal matrix without and with its penalties.
    """

    sessions: tuple[Rows, ...]
    layout: Layout
    fit: Fit
    inverse: Floats
    data: Floats
    penalised: Floats

    @property
    def gives(self) -> bool:
        """Whether the machine has play or bends."""
        return any(rows.aligned.unfelt_n is not None for rows in self.sessions)

    def response(self, changes_n: Sequence[Floats | float]) -> Floats:
        """Change of the coefficients when each session's filtered force changes so, shape (p,)."""
        total = np.zeros(self.layout.size)
        for design, weight, change in zip(self.fit.designs, self.fit.weights, changes_n, strict=True):
            total += design.T @ (weight * change)
        return np.asarray(self.inverse @ (self.fit.dilution * total))


def solved_from(sessions: Sequence[Rows], layout: Layout, fit: Fit) -> Solved:
    """Normal equations of a fit at its final weights."""
    data = np.zeros((layout.size, layout.size))
    for design, weight in zip(fit.designs, fit.weights, strict=True):
        data += design.T @ (design * weight[:, None])
    data *= fit.dilution
    strength = penalised(layout.size, layout.penalties, fit.smoothed.strengths)
    total = data + strength
    return Solved(tuple(sessions), layout, fit, inverse_of(total), data, total)
