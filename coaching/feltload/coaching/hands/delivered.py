"""Help and resistance that a partner gave, as it was measured through the client's own handle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.cautions import Caution
from feltload.coaching.hands.edges import SPREAD_RAD, edge_u95_n
from feltload.coaching.hands.hand import FEELABLE_N, shortest_stretch_rad
from feltload.core import EXPANDED_COVERAGE_K, Floats, Indices, runs_of_true

if TYPE_CHECKING:
    import pandas as pd


STANDS_OUT = 1.5
"""Times its band: a set has many half-repetitions, and one of them is often outside a 95 % band."""


class Phase(StrEnum):
    """Half of a repetition."""

    CONCENTRIC = "concentric"
    ECCENTRIC = "eccentric"


@dataclass(frozen=True)
class HalfRepetitionHelp:
    """Help in one phase of one repetition.

    Attributes
    ----------
    repetition : int
        From 0.
    phase : Phase
    help_n : ndarray, shape (n,)
        On the angles of `DeliveredHelp`; NaN where the half-repetition did not go.
    smoothing_n : ndarray, shape (n,), or None
        What one more smoothing like that of the measurement takes off; None for nothing.
    """

    repetition: int
    phase: Phase
    help_n: Floats
    smoothing_n: Floats | None = None

    @property
    def taken_off_n(self) -> Floats:
        """`smoothing_n`, zeros for none, NaN where the half-repetition did not go."""
        part = np.zeros(self.help_n.size) if self.smoothing_n is None else self.smoothing_n
        return np.where(np.isfinite(self.help_n), part, np.nan)

    @property
    def mean_n(self) -> float:
        """Over its travel."""
        return float(np.nanmean(self.help_n))


@dataclass(frozen=True)
class DeliveredHelp:
    """What a partner gave, measured through the client's own handle. Positive is help along the raising direction.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
    half_repetitions : tuple of HalfRepetitionHelp
    shared_variance_n2 : ndarray, shape (n,)
        Of the error that all half-repetitions have in common: profile, friction, this session's zero, lag and angle.
    scatter_n : float
        Standard deviation of a half-repetition about the mean of its phase, as this session or the profile's own
        residuals show it, whichever is greater.
    smoothing_scatter_n : float
        The same of what one more smoothing takes off.
    u_angle_rad : float
        Standard uncertainty of this session's angle.
    edge_spread_rad : float
        How far smoothing reaches beside the place where hands come on or go off.
    ahead_rad : float
        How far this session's angle may run ahead of the profile's, where the machine gives between the sensor's part
        and the load.
    ahead_n : float
        Help or resistance that this looks like, at most.
    """

    angle_rad: Floats
    half_repetitions: tuple[HalfRepetitionHelp, ...]
    shared_variance_n2: Floats
    scatter_n: float
    smoothing_scatter_n: float = 0.0
    u_angle_rad: float = 0.0
    edge_spread_rad: float = SPREAD_RAD
    ahead_rad: float = 0.0
    ahead_n: float = 0.0

    def mean_n(self, phase: Phase) -> Floats:
        """Mean over the half-repetitions of a phase, shape (n,); NaN where there was none."""
        return _mean([half.help_n for half in self._halves(phase)], self.angle_rad.size)

    def u95_n(self, phase: Phase) -> Floats:
        """Half-width of the 95 % band of that mean (k = 2), shape (n,); NaN where there was none."""
        count = np.maximum(self._count(phase), 1)
        taken_off = _mean([half.taken_off_n for half in self._halves(phase)], self.angle_rad.size)
        edges = edge_u95_n(
            self.angle_rad,
            self.mean_n(phase),
            taken_off,
            self.smoothing_scatter_n / np.sqrt(count),
            self.u_angle_rad,
            self.edge_spread_rad,
        )
        elsewhere = EXPANDED_COVERAGE_K * np.sqrt(self.shared_variance_n2 + self.scatter_n**2 / count)
        return np.where(self._count(phase) > 0, np.hypot(elsewhere, edges), np.nan)

    def u95_of(self, half: HalfRepetitionHelp) -> Floats:
        """Half-width of the 95 % band of one half-repetition (k = 2), shape (n,); NaN where it did not go."""
        edges = edge_u95_n(
            self.angle_rad,
            half.help_n,
            half.taken_off_n,
            self.smoothing_scatter_n,
            self.u_angle_rad,
            self.edge_spread_rad,
        )
        return np.where(np.isfinite(half.help_n), np.hypot(self.half_repetition_u95_n, edges), np.nan)

    @property
    def half_repetition_u95_n(self) -> Floats:
        """Half-width of the 95 % band of a single half-repetition where no hands come on or go off, shape (n,)."""
        return np.asarray(EXPANDED_COVERAGE_K * np.sqrt(self.shared_variance_n2 + self.scatter_n**2))

    @property
    def helped(self) -> bool:
        """Whether some half-repetition stands out of the band, by more than a hand gives unmeant, over 5° or more."""
        fewest = max(
            2, round(shortest_stretch_rad(self.angle_rad) / float(np.median(np.diff(self.angle_rad))))
        )
        return any(
            stop - first >= fewest
            for half in self.half_repetitions
            for sign in (1.0, -1.0)
            for first, stop in runs_of_true(
                sign * half.help_n > np.maximum(STANDS_OUT * self.u95_of(half), FEELABLE_N)
            )
        )

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What goes with giving help."""
        return (Caution.HELP_BY_HAND,)

    def to_frame(self) -> pd.DataFrame:
        """One row an angle: ``angle_deg``, then mean and band of each phase (``concentric_n, concentric_u95_n``)."""
        import pandas as pd

        columns = {"angle_deg": np.rad2deg(self.angle_rad)}
        for phase in Phase:
            columns |= {f"{phase}_n": self.mean_n(phase), f"{phase}_u95_n": self.u95_n(phase)}
        return pd.DataFrame(columns)

    def _halves(self, phase: Phase) -> list[HalfRepetitionHelp]:
        return [half for half in self.half_repetitions if half.phase == phase]

    def _count(self, phase: Phase) -> Indices:
        """How many half-repetitions of a phase there are at each angle."""
        count = np.zeros(self.angle_rad.size, dtype=int)
        for half in self._halves(phase):
            count += np.isfinite(half.help_n)
        return count


def _mean(rows: Sequence[Floats], size: int) -> Floats:
    """Mean of the rows that know something at each angle, shape (size,); NaN where none does."""
    stacked = np.stack(rows) if rows else np.full((1, size), np.nan)
    count = np.isfinite(stacked).sum(axis=0)
    return np.where(count > 0, np.nansum(stacked, axis=0) / np.maximum(count, 1), np.nan)
