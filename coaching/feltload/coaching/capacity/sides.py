"""Left against right: two capacity curves of one person at the same machine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.coaching.capacity.capacity import CapacityCurve
from feltload.coaching.capacity.overlap import SMALLEST_OVERLAP_RAD, shared_grid
from feltload.coaching.errors import OverlapError
from feltload.core import Floats, degrees


@dataclass(frozen=True)
class SideDifference:
    """Right minus left, as a part of their mean.

    Attributes
    ----------
    angle_rad, difference, u95 : ndarray, shape (n,)
        Where both are known; half-width of the 95 % band.
    mean, mean_u95 : float
        Over the travel.
    """

    angle_rad: Floats
    difference: Floats
    u95: Floats
    mean: float
    mean_u95: float

    def words(self) -> str:
        """One sentence; whether the sides differ by more than was measured. Never a medical claim."""
        size = f"{100 * abs(self.mean):.0f} % ± {100 * self.mean_u95:.0f} %"
        if abs(self.mean) <= self.mean_u95:
            return f"Left and right differ by no more than the measurement can tell ({size})."
        return f"The {'right' if self.mean > 0 else 'left'} side is stronger, by {size} on the whole."

    def where_words(self) -> str:
        """One sentence: where they differ most, as far as that can be told."""
        sure = np.abs(self.difference) > self.u95
        span = f"{degrees(float(self.angle_rad[0]))} to {degrees(float(self.angle_rad[-1]))}"
        if not sure.any():
            return f"At no position from {span} is a difference beyond the measurement's uncertainty."
        most = int(np.argmax(np.where(sure, np.abs(self.difference), -np.inf)))
        return (
            f"Most at {degrees(float(self.angle_rad[most]))} (of {span}): the "
            f"{'right' if self.difference[most] > 0 else 'left'} side has {100 * abs(self.difference[most]):.0f} % ± "
            f"{100 * self.u95[most]:.0f} % more."
        )


def compare_sides(left: CapacityCurve, right: CapacityCurve) -> SideDifference:
    """Compare the two sides over the travel that both were measured at.

    Raises
    ------
    OverlapError
        When they share less than 10°.
    """
    angle = shared_grid(left.angle_rad, right.angle_rad)
    if angle is None:
        raise OverlapError(
            f"left and right share less than {np.rad2deg(SMALLEST_OVERLAP_RAD):.0f}° of travel",
            remedy="hold at the same positions on both sides",
        )
    (a, cov_a), (b, cov_b) = left.at(angle), right.at(angle)
    middle = 0.5 * (a + b)
    # d(difference)/da = -b / middle**2, d/db = a / middle**2.
    covariance = (
        np.outer(b, b) / np.outer(middle**2, middle**2) * cov_a
        + np.outer(a, a) / np.outer(middle**2, middle**2) * cov_b
    )
    difference = (b - a) / middle
    return SideDifference(
        angle_rad=angle,
        difference=difference,
        u95=2.0 * np.sqrt(np.clip(np.diag(covariance), 0.0, None)),
        mean=float(difference.mean()),
        mean_u95=2.0 * float(np.sqrt(covariance.mean())),
    )
