"""Left against right: two capacity curves of one person at the same machine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.capacity.overlap import SMALLEST_OVERLAP_RAD, shared_grid
from feltload.coaching.cautions import Caution
from feltload.coaching.errors import OverlapError
from feltload.coaching.pain.marks import inside_any, standing_spans
from feltload.core import EXPANDED_COVERAGE_K, Floats
from feltload.signal import AngleKind, PositionScale, Travel

if TYPE_CHECKING:
    import pandas as pd

FEWEST_COMPARED = 5


@dataclass(frozen=True)
class CapacitySideDifference:
    """Right minus left, as a part of their mean.

    Attributes
    ----------
    angle_rad, difference : ndarray, shape (n,)
        Where both are known.
    covariance : ndarray, shape (n, n)
        Of `difference`.
    painful_rad : tuple of (low_rad, high_rad)
        Ranges marked painful on either side, which are left out.
    angle : AngleKind or None
        What an angle is on their machine.
    path_m : ndarray, shape (n,), or None
        Way of the handle from the start stop, where it was kept.
    """

    angle_rad: Floats
    difference: Floats
    covariance: Floats
    painful_rad: tuple[tuple[float, float], ...] = ()
    angle: AngleKind | None = None
    path_m: Floats | None = None

    @property
    def travel(self) -> Travel:
        """What was compared, along which positions are given."""
        return Travel(self.angle_rad, self.path_m, PositionScale(self.angle or AngleKind.LEVER, ""))

    @property
    def u95(self) -> Floats:
        """Expanded uncertainty of `difference` (k = 2, about 95 %), shape (n,)."""
        return EXPANDED_COVERAGE_K * np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))

    @property
    def mean(self) -> float:
        """Over the travel."""
        return float(self.difference.mean())

    @property
    def mean_u95(self) -> float:
        """Expanded uncertainty of `mean` (k = 2)."""
        return EXPANDED_COVERAGE_K * float(np.sqrt(self.covariance.mean()))

    @property
    def differs(self) -> bool:
        """Whether the sides differ, on the mean, by more than was measured."""
        return abs(self.mean) > self.mean_u95

    @property
    def greatest(self) -> int | None:
        """Index of the greatest difference beyond its uncertainty; None where there is none."""
        beyond = np.abs(self.difference) > self.u95
        return int(np.argmax(np.where(beyond, np.abs(self.difference), -np.inf))) if beyond.any() else None

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What goes with reading it."""
        pain = (Caution.PAINFUL_RANGE,) if self.painful_rad else ()
        return (*pain, Caution.ESTIMATE)

    def to_frame(self) -> pd.DataFrame:
        """One row an angle: ``angle_deg, difference, u95``."""
        import pandas as pd

        return pd.DataFrame(
            {"angle_deg": np.rad2deg(self.angle_rad), "difference": self.difference, "u95": self.u95}
        )


def compare_capacity_sides(left: CapacityCurve, right: CapacityCurve) -> CapacitySideDifference:
    """Compare the two sides over the travel that both were measured at, outside every painful range.

    Raises
    ------
    OverlapError
        When they share less than 10°, or hardly a position that hurts on neither side.
    """
    if left.angle and right.angle and left.angle is not right.angle:
        raise OverlapError(
            f"the left side's positions are of another kind ({left.angle}) than the right side's ({right.angle})",
            remedy="measure both sides with one machine file",
        )
    angle = shared_grid(left.angle_rad, right.angle_rad)
    if angle is None:
        raise OverlapError(
            f"left and right share less than {np.rad2deg(SMALLEST_OVERLAP_RAD):.0f}° of travel",
            remedy="hold at the same positions on both sides",
        )
    painful = standing_spans((*left.painful, *right.painful))
    angle = angle[~inside_any(angle, painful)]
    if angle.size < FEWEST_COMPARED:
        raise OverlapError(
            "hardly a position is left that hurts on neither side",
            remedy="do not compare the sides until a licensed clinician has seen to the pain",
        )
    (left_n, left_covariance), (right_n, right_covariance) = left.at(angle), right.at(angle)
    middle = 0.5 * (left_n + right_n)
    # d(difference)/d(left) = -right / middle**2, d(difference)/d(right) = left / middle**2.
    covariance = (
        np.outer(right_n, right_n) / np.outer(middle**2, middle**2) * left_covariance
        + np.outer(left_n, left_n) / np.outer(middle**2, middle**2) * right_covariance
    )
    path = None if left.path_m is None else np.interp(angle, left.angle_rad, left.path_m)
    difference = (right_n - left_n) / middle
    return CapacitySideDifference(angle, difference, covariance, painful, left.angle, path)
