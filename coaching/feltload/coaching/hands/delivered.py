"""Help and resistance that a partner gave, as it was measured through the client's own handle."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.cautions import Caution
from feltload.coaching.hands.hand import FEELABLE_N, SHORTEST_STRETCH_RAD
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
    """

    repetition: int
    phase: Phase
    help_n: Floats

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
    """

    angle_rad: Floats
    half_repetitions: tuple[HalfRepetitionHelp, ...]
    shared_variance_n2: Floats
    scatter_n: float

    def mean_n(self, phase: Phase) -> Floats:
        """Mean over the half-repetitions of a phase, shape (n,); NaN where there was none."""
        rows, count = self._rows(phase)
        return np.where(count > 0, np.nansum(rows, axis=0) / np.maximum(count, 1), np.nan)

    def u95_n(self, phase: Phase) -> Floats:
        """Half-width of the 95 % band of that mean (k = 2), shape (n,); NaN where there was none."""
        count = self._rows(phase)[1]
        variance = self.shared_variance_n2 + self.scatter_n**2 / np.maximum(count, 1)
        return np.where(count > 0, EXPANDED_COVERAGE_K * np.sqrt(variance), np.nan)

    @property
    def half_repetition_u95_n(self) -> Floats:
        """Half-width of the 95 % band of a single half-repetition (k = 2), shape (n,)."""
        return np.asarray(EXPANDED_COVERAGE_K * np.sqrt(self.shared_variance_n2 + self.scatter_n**2))

    @property
    def helped(self) -> bool:
        """Whether some half-repetition stands out of the band, by more than a hand gives unmeant, over 5° or more."""
        limit = np.maximum(STANDS_OUT * self.half_repetition_u95_n, FEELABLE_N)
        fewest = max(2, round(SHORTEST_STRETCH_RAD / float(np.median(np.diff(self.angle_rad)))))
        return any(
            stop - first >= fewest
            for half in self.half_repetitions
            for sign in (1.0, -1.0)
            for first, stop in runs_of_true(sign * half.help_n > limit)
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

    def _rows(self, phase: Phase) -> tuple[Floats, Indices]:
        """Half-repetitions of a phase as rows, and how many there are at each angle."""
        halves = [half.help_n for half in self.half_repetitions if half.phase == phase]
        rows = np.stack(halves) if halves else np.full((1, self.angle_rad.size), np.nan)
        return rows, np.isfinite(rows).sum(axis=0)
