"""Whether a curve meets a target, given how well the curve is known.

The decision is that of JCGM 106:2012 (and of ISO 14253-1, which guards the limits with the uncertainty): the
probability that the whole curve lies within its limits, given its estimate and covariance, must be 95 % at least for
"meets", 5 % at most for "does not meet"; between them it cannot be determined. It is one probability over the whole
curve, so that many positions do not make a chance find.

A curve along its limit, or with errors that each position has for itself, is almost surely outside somewhere in its
draws though the true one may well be within. So "does not meet" also asks for a place that is outside by more than the
band of the whole curve.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.calibration.target.placed import PlacedTarget
from feltload.calibration.target.target import TargetScale
from feltload.core import (
    NORMAL_COVERAGE_95,
    Curve,
    Floats,
    Picture,
    Shown,
    Summary,
    covariance_root,
    mass_text,
    runs_of_true,
    with_u95,
)

if TYPE_CHECKING:
    import pandas as pd

CONFIDENCE: Final = 0.95
DRAWS: Final = 4000
BAND_DRAWS: Final = 1000


class TargetVerdict(StrEnum):
    """Whether a curve meets a target."""

    MET = "met"
    NOT_MET = "not-met"
    UNDETERMINED = "undetermined"


@dataclass(frozen=True)
class OffTarget:
    """A stretch over which a curve leaves its limits, as estimated.

    Attributes
    ----------
    low_rad, high_rad : float
        Its ends.
    at_rad : float
        Where it leaves them most.
    by_n : float
        How far outside it is there: above 0 too heavy, below 0 too light.
    u95_n : float
        Half-width of the band of `by_n`, of the whole curve.
    """

    low_rad: float
    high_rad: float
    at_rad: float
    by_n: float
    u95_n: float

    @property
    def established(self) -> bool:
        """Whether it is outside by more than the uncertainty."""
        return abs(self.by_n) > self.u95_n


@dataclass(frozen=True, repr=False)
class Judgement(Shown):
    """A curve compared with a target.

    Attributes
    ----------
    placed : PlacedTarget
    load_kg : float
    force_n : ndarray, shape (n,)
        The curve where the target is.
    low_n, high_n : ndarray, shape (n,)
        What is allowed there, at the scale that suits the curve best; infinite without a limit.
    u95_n : ndarray, shape (n,)
        Half-width of the band, of the whole curve, of the distance to the limits.
    probability : float
        That the whole curve is within its limits.
    off : tuple of OffTarget
        Where it is not, as estimated.
    friction_n : ndarray, shape (n,), optional
        What comes on top when the handle is raised slowly, where that is known.
    """

    placed: PlacedTarget
    load_kg: float
    force_n: Floats
    low_n: Floats
    high_n: Floats
    u95_n: Floats
    probability: float
    off: tuple[OffTarget, ...]
    friction_n: Floats | None = None

    @property
    def verdict(self) -> TargetVerdict:
        """Met, not met, or undetermined."""
        if self.probability >= CONFIDENCE:
            return TargetVerdict.MET
        seen = not self.has_scale or any(each.established for each in self.off)
        return TargetVerdict.NOT_MET if seen and self.improbable else TargetVerdict.UNDETERMINED

    @property
    def improbable(self) -> bool:
        """Whether the probability alone would say that it is not met."""
        return self.probability <= 1.0 - CONFIDENCE

    @property
    def has_scale(self) -> bool:
        """Whether there is a force above zero that the wanted values can be parts of."""
        return float(self.placed.scale_n(self.force_n)) > 0.0

    @property
    def excess_n(self) -> Floats:
        """How far outside the limits, shape (n,): above 0 too heavy, below 0 too light, 0 within."""
        return np.maximum(self.force_n - self.high_n, 0.0) - np.maximum(self.low_n - self.force_n, 0.0)

    @property
    def raised_above_n(self) -> float:
        """How far slow raising goes above a force that is a limit alone; 0 where it does not, or is not known."""
        if self.friction_n is None or self.placed.target.scale is not TargetScale.NEWTONS:
            return 0.0
        alone = self.placed.upper & ~self.placed.lower
        above = self.force_n + np.nan_to_num(self.friction_n) - self.high_n
        return float(np.max(above, initial=0.0, where=alone))

    @property
    def margin_n(self) -> float:
        """Distance of the curve from the nearest limit; below 0 outside."""
        room = np.minimum(self.high_n - self.force_n, self.force_n - self.low_n)
        if self.placed.target.scale is TargetScale.FIRST:
            # There the limits are the force itself.
            room = np.delete(room, self.placed.first)
        return float(np.min(room))

    def summary(self) -> Summary:
        """The verdict, the probability behind it, and where the curve is furthest outside."""
        verdict = {
            TargetVerdict.MET: "met",
            TargetVerdict.NOT_MET: "not met",
            TargetVerdict.UNDETERMINED: "cannot be determined",
        }[self.verdict]
        outside = "nowhere"
        if self.off:
            worst = max(self.off, key=lambda each: abs(each.by_n))
            where = self.placed.travel.said(worst.at_rad)
            outside = f"{with_u95(worst.by_n, worst.u95_n, 'N')} at {where}"
        columns = ("target", "probability that the whole curve is within it", "furthest outside (95 %)")
        row = (verdict, f"{100.0 * self.probability:.0f} %", outside)
        return Summary(self._title, columns, (row,))

    @property
    def _title(self) -> str:
        return f"{mass_text(self.load_kg)} compared with the target: {self.placed.target.text}"

    def picture(self) -> Picture:
        """The curve between what is allowed, with the band of its distance to the limits."""
        ends = (("lowest allowed", self.low_n), ("highest allowed", self.high_n))
        # An open side has no line.
        allowed = tuple((name, np.where(np.isfinite(end), end, np.nan)) for name, end in ends)
        curve = Curve.within("", self.placed.at_rad, self.force_n, self.u95_n, allowed)
        curve = replace(curve, between=self.placed.target.between)
        return Picture(
            self._title,
            "force at the handle, N",
            (curve,),
            self.placed.travel.scales(),
            line_name="static",
            band_name="95 % band of the distance to the limits",
        )

    def to_frame(self) -> pd.DataFrame:
        """One row a position: its columns, then ``force_n, low_n, high_n, u95_n, excess_n``."""
        import pandas as pd

        return pd.DataFrame(
            {
                **self.placed.travel.columns(self.placed.at_rad),
                "force_n": self.force_n,
                "low_n": self.low_n,
                "high_n": self.high_n,
                "u95_n": self.u95_n,
                "excess_n": self.excess_n,
            }
        )


def judge_target(
    placed: PlacedTarget,
    force_n: Floats,
    covariance_n2: Floats,
    *,
    load_kg: float,
    coverage: float = NORMAL_COVERAGE_95,
    friction_n: Floats | None = None,
    seed: int = 1,
) -> Judgement:
    """Compare a curve with a target.

    Parameters
    ----------
    placed : PlacedTarget
    force_n : ndarray, shape (n,)
        The curve at ``placed.at_rad``.
    covariance_n2 : ndarray, shape (n, n)
        Of it.
    load_kg : float
    coverage : float
        Half-width of the curve's 95 % band in standard uncertainties: more than 1.96 after few repeats.
    friction_n : ndarray, shape (n,), optional
        Of the machine there; it is not judged.
    seed : int
        Of the draws.
    """
    wider = coverage / NORMAL_COVERAGE_95
    root = covariance_root(covariance_n2)
    drawn = force_n + wider * np.random.default_rng(seed).standard_normal((DRAWS, force_n.size)) @ root.T
    within = placed.met(drawn)
    low, high = placed.limits_n(force_n)
    resists = float(placed.scale_n(force_n)) > 0.0
    u95 = _band(placed, drawn[:BAND_DRAWS], force_n)
    return Judgement(
        placed,
        load_kg,
        force_n,
        low,
        high,
        u95,
        float(np.mean(within)),
        _stretches(placed.at_rad, force_n, low, high, u95) if resists else (),
        friction_n,
    )


def _band(placed: PlacedTarget, drawn: Floats, force_n: Floats) -> Floats:
    """Half-width that holds, in 95 % of draws, the distances to the limits of the whole curve, shape (n,).

    The limits of a relative target move with the curve, so what both share cancels.
    """
    scale = placed.scale_n(drawn)[:, None]
    distance = drawn - scale * placed.wanted
    distance = distance - (force_n - float(placed.scale_n(force_n)) * placed.wanted)
    spread = np.std(distance, axis=0)
    studentised = np.abs(distance) / np.maximum(spread, 1e-12)
    known = spread > 1e-9
    if not np.any(known):
        return np.zeros(force_n.size)
    return np.asarray(spread * np.quantile(np.max(studentised[:, known], axis=1), CONFIDENCE))


def _stretches(
    at_rad: Floats, force_n: Floats, low_n: Floats, high_n: Floats, u95_n: Floats
) -> tuple[OffTarget, ...]:
    slack = 1e-9 * float(np.max(np.abs(force_n), initial=1.0))
    excess = np.maximum(force_n - high_n, 0.0) - np.maximum(low_n - force_n, 0.0)
    found = []
    for side in (1.0, -1.0):
        for begin, stop in runs_of_true(side * excess > slack):
            most = begin + int(np.argmax(side * excess[begin:stop]))
            found.append(
                OffTarget(
                    float(at_rad[begin]),
                    float(at_rad[stop - 1]),
                    float(at_rad[most]),
                    float(excess[most]),
                    float(u95_n[most]),
                )
            )
    return tuple(sorted(found, key=lambda each: each.low_rad))
