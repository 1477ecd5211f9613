"""What changed between measurements of a machine: figure by figure, by position, and over all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from feltload.app.jobs.upkeep.entries import HealthEntry, KeptValue
from feltload.coaching import CurveDifference, OverlapError, curve_difference, whole_curve_factor
from feltload.core import NORMAL_COVERAGE_95, coverage_95
from feltload.signal import BudgetSource

FEWEST_FOR_TREND = 4
SHORTEST_TREND_DAYS = 14.0
DAYS_A_MONTH = 365.25 / 12.0


@dataclass(frozen=True)
class HealthChange:
    """One figure now, and the same one before where it was kept.

    Attributes
    ----------
    now : KeptValue
    before : KeptValue or None
    curve : CurveDifference or None
        Of friction along the rotation from the start stop, now minus before, where both were kept.
    together : int
        How many such questions are asked at once; all answers hold together in 95 % of cases.
    """

    now: KeptValue
    before: KeptValue | None
    curve: CurveDifference | None = None
    together: int = 1

    @property
    def difference(self) -> float:
        """Now minus before, over the travel that both cover where it is of friction; NaN where there is no before."""
        if self.before is None:
            return float("nan")
        return self.curve.mean if self.curve is not None else self.now.value - self.before.value

    @property
    def u95(self) -> float:
        """Half-width of the 95 % band of the difference: without curves both measurements count as independent."""
        if self.before is None:
            return float("nan")
        return (
            self.curve.mean_u95 if self.curve is not None else float(np.hypot(self.now.u95, self.before.u95))
        )

    @property
    def established(self) -> bool:
        """Whether it changed by more than the measurements' uncertainty, all questions asked together."""
        if self.curve is not None:
            return self.curve.mean_established
        factor = whole_curve_factor(np.ones((1, 1)), coverage=NORMAL_COVERAGE_95, curves=self.together)
        return abs(self.difference) > self.u95 * factor / NORMAL_COVERAGE_95


@dataclass(frozen=True)
class Trend:
    """A straight line through one figure over time.

    Attributes
    ----------
    value : KeptValue
        The latest.
    per_month, u95 : float
        Its slope for an average month, and the half-width of the 95 % band.
    count : int
        Measurements.
    days : float
        From the first to the last.
    """

    value: KeptValue
    per_month: float
    u95: float
    count: int
    days: float

    @property
    def established(self) -> bool:
        """Whether it goes one way by more than its uncertainty."""
        return abs(self.per_month) > self.u95


def compare_entries(now: HealthEntry, before: HealthEntry, *, times: int) -> tuple[HealthChange, ...]:
    """Each figure of an entry with the same of an earlier one, asked `times` times in one report."""
    same_cell = len(now.certificates) == 1 and now.certificates == before.certificates
    common = (BudgetSource.FORCE_GAIN,) if same_cell else ()
    # Of friction the mean is asked for, and each place.
    together = times * sum(2 if value.kind == "friction" else 1 for value in now.values)
    changes = []
    for value in now.values:
        kept, curve = before.value(value), None
        if kept is not None and value.load_kg is not None:
            curves = now.curve(value.load_kg), before.curve(value.load_kg)
            if curves[0] is not None and curves[1] is not None:
                try:
                    curve = curve_difference(curves[0], curves[1], common=common, curves=together)
                except OverlapError:
                    # Ranges that have nothing in common: neither their means.
                    kept = None
        changes.append(HealthChange(value, kept, curve, together))
    return tuple(changes)


def trends(entries: Sequence[HealthEntry]) -> tuple[Trend, ...]:
    """The trend of each figure of the last entry that enough entries have, weighted by their uncertainties."""
    found = []
    for value in entries[-1].values:
        points = [
            (_day(entry.measured), kept)
            for entry in entries
            if entry.measured and (kept := entry.value(value)) is not None
        ]
        days = np.array([day for day, _ in points])
        if days.size >= FEWEST_FOR_TREND and np.ptp(days) >= SHORTEST_TREND_DAYS:
            found.append(_trend(value, days, [kept for _, kept in points]))
    return tuple(found)


def _trend(value: KeptValue, days: np.ndarray, kept: Sequence[KeptValue]) -> Trend:
    months = (days - days.mean()) / DAYS_A_MONTH
    y = np.array([each.value for each in kept])
    u = np.maximum(np.array([each.u95 for each in kept]) / NORMAL_COVERAGE_95, 1e-12)
    design = np.column_stack([np.ones_like(months), months]) / u[:, None]
    weights = np.linalg.pinv(design)
    line = weights @ (y / u)
    freedom = days.size - 2
    scatter = float(np.sum((y / u - design @ line) ** 2)) / freedom
    # Figures that scatter by more than they say widen the band (Birge ratio).
    spread = float(np.sqrt(np.sum(weights[1] ** 2) * max(1.0, scatter)))
    return Trend(value, float(line[1]), coverage_95(freedom) * spread, days.size, float(np.ptp(days)))


def _day(measured: str) -> float:
    return datetime.fromisoformat(measured).timestamp() / 86400.0
