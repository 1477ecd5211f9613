"""The left arm against the right, repetition figures side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.core import coverage_95
from feltload.signal.profile.repetitions import Repetition


@dataclass(frozen=True)
class SideDifference:
    """Left against right in one quantity of the repetitions.

    Attributes
    ----------
    quantity : str
        Field of `Repetition`.
    left, right : float
        Means.
    u95 : float
        Half-width of the 95 % interval of their difference (Welch).
    """

    quantity: str
    left: float
    right: float
    u95: float

    @property
    def difference(self) -> float:
        """Left - right."""
        return self.left - self.right

    @property
    def percent(self) -> float:
        """Difference in percent of the larger side."""
        return 100.0 * self.difference / max(abs(self.left), abs(self.right), 1e-300)


def compare_sides(
    repetitions: Sequence[Repetition],
    quantities: Sequence[str] = (
        "range_rad",
        "peak_n",
        "mean_n",
        "work_j_per_m",
        "concentric_s",
        "impulse_n_s",
    ),
) -> list[SideDifference]:
    """Left and right arm compared over their complete repetitions; empty unless both have two or more."""
    sides = {side: [r for r in repetitions if r.side == side and r.complete] for side in ("left", "right")}
    if min(len(group) for group in sides.values()) < 2:
        return []
    out = []
    for quantity in quantities:
        left, right = (np.array([getattr(r, quantity) for r in sides[s]]) for s in ("left", "right"))
        squares = np.array([np.var(left, ddof=1) / left.size, np.var(right, ddof=1) / right.size])
        total = float(np.sum(squares))
        freedom = total**2 / max(
            float(squares[0] ** 2 / (left.size - 1) + squares[1] ** 2 / (right.size - 1)), 1e-300
        )
        u95 = coverage_95(max(freedom, 1.0)) * np.sqrt(total) if total > 0 else 0.0
        out.append(SideDifference(quantity, float(np.mean(left)), float(np.mean(right)), float(u95)))
    return out
