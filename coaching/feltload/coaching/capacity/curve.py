"""What one person can produce at the handle, by position."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from feltload.coaching.capacity.holds import Hold
from feltload.coaching.cautions import Caution
from feltload.coaching.errors import CapacityError
from feltload.coaching.pain.marks import (
    PainMark,
    Span,
    add_marks,
    inside_any,
    placed_marks,
    standing_spans,
)
from feltload.core import (
    EXPANDED_COVERAGE_K,
    Curve,
    Fact,
    Floats,
    Picture,
    Shown,
    Summary,
    angle_text,
    interpolation_weights,
    with_u95,
)
from feltload.signal import AngleKind, Travel

if TYPE_CHECKING:
    import pandas as pd


ANGLES_SAID = {
    AngleKind.LEVER: "lever angle",
    AngleKind.HANDLE_LINE: "a linkage's rotation",
    AngleKind.ROTATION: "the rotation of a drum, wheel or crank",
}

STRONGEST_N = 20_000.0
"""Handle force that no person holds (common practice, no source)."""


class CapacitySource(StrEnum):
    """How a capacity was measured."""

    HOLDS = "holds"
    REPETITIONS = "slow repetitions"
    TABLE = "table"


@dataclass(frozen=True, repr=False)
class CapacityCurve(Shown):
    """Handle force that a person can produce, by lever angle.

    Attributes
    ----------
    angle_rad, force_n : ndarray, shape (n,)
        The curve, only as far as it was measured.
    covariance_n2 : ndarray, shape (n, n)
        Covariance of `force_n`.
    source : CapacitySource
        How it was measured.
    holds : tuple of Hold
        The holds it rests on, if any.
    side : {"left", "right"} or None
        The side measured.
    warnings : tuple of Fact
        What a reader should know, of `CapacityFact` kinds.
    invented : bool
        Whether nobody was measured: an emulated person.
    painful : tuple of PainMark
        Ranges that hurt this person on this machine, also those whose mark was removed.
    all_holds : CapacityCurve or None
        The curve through every hold, painful ones included, where some were left out of this one. Nobody works by it:
        it keeps a mark from raising what is suggested.
    lowest_n : ndarray, shape (k,), or None
        On the angles of `all_holds`: the lowest of the curves with some of the painful holds left out, which keeps a
        larger mark from raising what a smaller one gave.
    angle : AngleKind or None
        What an angle was on the machine it was measured on; None where nobody kept that.
    path_m : ndarray, shape (n,), or None
        Way of the handle from the start stop on `angle_rad`, where it was known.
    """

    angle_rad: Floats
    force_n: Floats
    covariance_n2: Floats
    source: CapacitySource
    holds: tuple[Hold, ...] = ()
    side: str | None = None
    warnings: tuple[Fact, ...] = ()
    invented: bool = False
    painful: tuple[PainMark, ...] = ()
    all_holds: CapacityCurve | None = None
    lowest_n: Floats | None = None
    angle: AngleKind | None = None
    path_m: Floats | None = None

    def placed(self, travel: Travel, *, where: str) -> CapacityCurve:
        """The curve and its marks where they lie on the machine of `travel` as its file is now.

        Raises
        ------
        CapacityError
            When its angles are of another kind than the machine's: they name no position there.
        """
        marks = placed_marks(self.painful, travel)
        angle = self.angle or (AngleKind.LEVER if self.source is CapacitySource.TABLE else travel.scale.angle)
        if angle is not travel.scale.angle:
            raise CapacityError(
                f"is by {ANGLES_SAID[angle]}, and positions of this machine by {ANGLES_SAID[travel.scale.angle]}",
                where=where,
                remedy="measure the capacity at this machine's handle",
            )
        if angle is AngleKind.LEVER or self.path_m is None or travel.path_m is None:
            return replace(self, painful=marks)
        # What was kept is the place of the handle: start angle or a radius may have been corrected since.
        moved = np.array([travel.at_way(float(way)) for way in self.path_m])
        others = self.all_holds
        if others is not None:
            shift = np.interp(others.angle_rad, self.angle_rad, moved - self.angle_rad)
            others = replace(others, angle_rad=others.angle_rad + shift)
        return replace(self, angle_rad=moved, painful=marks, all_holds=others)

    @property
    def painful_rad(self) -> tuple[Span, ...]:
        """Ranges marked painful now."""
        return standing_spans(self.painful)

    @property
    def unmarked(self) -> tuple[CapacityCurve, ...]:
        """What is known of the person without regard to any mark: this curve, those of all and of some holds."""
        if self.all_holds is None:
            return (self,)
        lowest = () if self.lowest_n is None else (replace(self.all_holds, force_n=self.lowest_n),)
        return (self, self.all_holds, *lowest)

    def marked(self, spans_rad: Sequence[Span]) -> CapacityCurve:
        """The same with more ranges marked painful."""
        return replace(self, painful=add_marks(self.painful, spans_rad))

    @property
    def u_n(self) -> Floats:
        """Standard uncertainty of `force_n`, shape (n,)."""
        return np.sqrt(np.clip(np.diag(self.covariance_n2), 0.0, None))

    @property
    def u95_n(self) -> Floats:
        """Expanded uncertainty of `force_n` (k = 2, about 95 %), shape (n,)."""
        return EXPANDED_COVERAGE_K * self.u_n

    @property
    def strongest(self) -> int:
        """Index of the greatest force outside every painful range."""
        usable = ~inside_any(self.angle_rad, self.painful_rad)
        return int(np.argmax(np.where(usable, self.force_n, -np.inf) if usable.any() else self.force_n))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What goes with measuring and reading it."""
        pain = (Caution.PAINFUL_RANGE,) if self.painful_rad else ()
        return *pain, Caution.MAXIMAL_EFFORT, Caution.ESTIMATE

    def at(self, angle_rad: npt.ArrayLike) -> tuple[Floats, Floats]:
        """Force and its covariance at other angles; NaN outside what was measured.

        Parameters
        ----------
        angle_rad : array_like, shape (k,)
            Lever angles.

        Returns
        -------
        force_n : ndarray, shape (k,)
        covariance_n2 : ndarray, shape (k, k)
        """
        angle = np.atleast_1d(np.asarray(angle_rad, dtype=float))
        low, high = self.angle_rad[[0, -1]]
        weights = interpolation_weights(self.angle_rad, angle).toarray()
        # Half a step of rounding at the ends is still inside.
        slack = 1e-6 * (high - low)
        weights[(angle < low - slack) | (angle > high + slack)] = np.nan
        return weights @ self.force_n, weights @ self.covariance_n2 @ weights.T

    def summary(self) -> Summary:
        """What it is, with the greatest force outside every painful range."""
        k = self.strongest
        row = (
            with_u95(float(self.force_n[k]), float(self.u95_n[k]), "N"),
            angle_text(float(self.angle_rad[k])),
            str(len(self.painful_rad)),
        )
        columns = ("greatest force (95 %)", "at start angle plus rotation", "ranges marked painful")
        return Summary(self._title, columns, (row,))

    @property
    def _title(self) -> str:
        side = "" if self.side is None else f", {self.side} side"
        invented = ", invented: an emulated person" if self.invented else ""
        return f"Capacity at the handle from {self.source}{side}{invented}"

    def picture(self) -> Picture:
        """The force with its band, ranges marked painful shaded."""
        curve = Curve.within("", self.angle_rad, self.force_n, self.u95_n)
        label = "force at the handle, N"
        return Picture(self._title, label, (curve,), line_name="capacity", spans=self.painful_rad)

    def to_frame(self) -> pd.DataFrame:
        """One row an angle: ``angle_deg, force_n, u95_n``."""
        import pandas as pd

        return pd.DataFrame(
            {"angle_deg": np.rad2deg(self.angle_rad), "force_n": self.force_n, "u95_n": self.u95_n}
        )
