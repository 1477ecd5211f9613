"""A proposed design: what changes, what that does to the force, and what stands in its way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from feltload.calibration.design.free import FreeDimension
from feltload.calibration.design.knowing import FreeCombination
from feltload.calibration.design.problem import Demand
from feltload.calibration.design.relief import Relief
from feltload.calibration.design.stages import Stage
from feltload.calibration.design.tolerances import ToleranceStudy
from feltload.calibration.design.trade_off import Conflict
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.reference import reference_of
from feltload.core import Curve, Fact, Floats, Picture, Shown, Summary, mass_text
from feltload.signal import Travel, travel_of

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class ProposedDimension:
    """A dimension that changes.

    Attributes
    ----------
    free : FreeDimension
    value : float
        Proposed, SI.
    change_n : float
        Largest change of the force for one of its units more, over all loads and positions.
    at_bound : bool
        Whether it lies on one of its bounds.
    """

    free: FreeDimension
    value: float
    change_n: float
    at_bound: bool


@dataclass(frozen=True)
class DesignedCurve:
    """The force at one load along the travel, today and as proposed; each (n,)."""

    load_kg: float
    today_n: Floats
    proposed_n: Floats


@dataclass(frozen=True, repr=False)
class Proposal(Shown):
    """A design.

    Attributes
    ----------
    machine, proposed : Machine
        Today's, and the proposed one; its uncertainties are those of the machine file.
    travel_rad : float
    demands : tuple of Demand
        The targets at their loads, placed on the proposed machine.
    stages : tuple of Stage
        The best design of every number of changed dimensions.
    chosen : int
        Which of them is proposed.
    free : tuple of FreeDimension
    dimensions : tuple of ProposedDimension
    q_rad : ndarray, shape (n,)
        Rotations from the start stop.
    curves : tuple of DesignedCurve
        One for each load.
    combinations : tuple of FreeCombination
        What the targets leave open.
    tolerances : ToleranceStudy
    reliefs : tuple of Relief
        What wider bounds would bring, where the targets are not met.
    conflict : Conflict
        Which demands are in each other's way, where the targets are not met.
    facts : tuple of Fact
        Where it runs into frame or floor, or away from the hand, as far as the machine file knows.
    """

    machine: Machine
    proposed: Machine
    travel_rad: float
    demands: tuple[Demand, ...]
    stages: tuple[Stage, ...]
    chosen: int
    free: tuple[FreeDimension, ...]
    dimensions: tuple[ProposedDimension, ...]
    q_rad: Floats
    curves: tuple[DesignedCurve, ...]
    combinations: tuple[FreeCombination, ...]
    tolerances: ToleranceStudy
    reliefs: tuple[Relief, ...]
    conflict: Conflict
    facts: tuple[Fact, ...]

    @property
    def stage(self) -> Stage:
        """The proposed one."""
        return self.stages[self.chosen]

    @property
    def meets(self) -> bool:
        """Whether it meets every target as predicted."""
        return self.stage.meets

    @property
    def travel(self) -> Travel:
        """That of the proposed machine, along which positions are given."""
        reference = reference_of(self.proposed)
        return travel_of(reference, reference.start_angle_rad + self.q_rad)

    def summary(self) -> Summary:
        """Which dimensions change, from what to what, and how well that meets the targets."""
        rows = tuple(
            (
                each.free.parameter.key.dotted,
                _said(each.free.parameter.value, each.free),
                _said(each.value, each.free) + (", at its bound" if each.at_bound else ""),
                f"{each.change_n:.2g} N per {each.free.parameter.unit or 'unit'}",
            )
            for each in self.dimensions
        )
        meeting = f"{100.0 * self.tolerances.meeting:.0f} % of machines built within their tolerances"
        return Summary(
            f"Design proposed for {self.machine.name}, predicted, not measured",
            ("dimension", "today", "proposed", "changes the force by up to"),
            rows,
            f"{'meets' if self.meets else 'does not meet'} every target (largest distance {self.stage.miss:.2f} of its "
            f"tolerance), {len(rows)} dimension{'s' * (len(rows) != 1)} changed; {meeting} meet every target",
        )

    def picture(self) -> Picture:
        """The force as proposed, with what tolerances leave of it, and as it is today."""
        reference = reference_of(self.proposed)
        angle = reference.start_angle_rad + self.q_rad
        rows = zip(self.curves, self.tolerances.low_n, self.tolerances.high_n, strict=True)
        curves = tuple(
            Curve(mass_text(each.load_kg), angle, each.proposed_n, (low, high), (("today", each.today_n),))
            for each, low, high in rows
        )
        return Picture(
            self.summary().title,
            "force at the handle, N",
            curves,
            self.travel.scales(),
            line_name="proposed, static",
            band_name="95 % of machines within tolerances",
        )

    def to_frame(self) -> pd.DataFrame:
        """One row a load and position: ``load_kg``, columns of the position on the proposed machine, then forces.

        Returns
        -------
        DataFrame
            Forces ``today_n, proposed_n``, and ``low95_n, high95_n`` of machines built within their tolerances.
        """
        import pandas as pd

        places = self.travel.columns(self.travel.angle_rad)
        rows = zip(self.curves, self.tolerances.low_n, self.tolerances.high_n, strict=True)
        return pd.concat(
            [
                pd.DataFrame(
                    {
                        "load_kg": each.load_kg,
                        **places,
                        "today_n": each.today_n,
                        "proposed_n": each.proposed_n,
                        "low95_n": low,
                        "high95_n": high,
                    }
                )
                for each, low, high in rows
            ],
            ignore_index=True,
        )


def _said(value: float, free: FreeDimension) -> str:
    return f"{value / free.parameter.per_unit:.6g} {free.parameter.unit}".strip()
