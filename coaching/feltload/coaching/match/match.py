"""Load against capacity along the travel: where a client runs out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.cautions import Caution
from feltload.coaching.match.facts import MatchFact
from feltload.coaching.match.repetitions_to_failure import RepetitionRange
from feltload.coaching.pain.travel import WorkingTravel
from feltload.coaching.statistics.profile_difference import SAME_LOAD_KG
from feltload.core import (
    BY_ANGLE,
    EXPANDED_COVERAGE_K,
    Curve,
    Fact,
    Figure,
    Flags,
    Floats,
    Picture,
    Severity,
    Shown,
    Summary,
    angle_text,
    mass_text,
    with_u95,
)

if TYPE_CHECKING:
    import pandas as pd

UNDER_CHALLENGED = 0.7
"""Below this part of the greatest demand a position counts as under-challenged (our own convention)."""
FAR_ABOVE, FAR_BELOW = 1.5, 0.5
"""Loads beyond these parts of the heaviest and lightest measured are rough predictions (our own convention)."""
UNCLEAR_SHARE = 0.5


@dataclass(frozen=True, repr=False)
class Match(Shown):
    """What a load asks of a person, as a fraction of what the person has.

    Attributes
    ----------
    load_kg : float
    measured_kg : ndarray, shape (m,)
        Loads that the machine was measured with.
    angle_rad : ndarray, shape (n,)
        The part of the travel where both are known.
    load_n, capacity_n : ndarray, shape (n,)
        Force raising slowly, and capacity.
    u_demand : ndarray, shape (n,)
        Standard uncertainty of `demand`.
    limiting_range_rad : tuple of float
        Where the limiting position lies in 95 % of draws.
    travel : WorkingTravel
        Where the client works: what a painful range and a wanted start or stop leave, and what of it is known.
    unmarked : tuple of RepetitionRange
        Repetitions over everything that is known, painful or not; empty when nothing is marked.
    friction_n, u_friction_n : float
        Friction in `load_n`, mean over the machine's travel, and its standard uncertainty (0 where it is not known).
    """

    load_kg: float
    measured_kg: Floats
    angle_rad: Floats
    load_n: Floats
    capacity_n: Floats
    u_demand: Floats
    limiting_range_rad: tuple[float, float]
    travel: WorkingTravel
    unmarked: tuple[RepetitionRange, ...] = ()
    friction_n: float = 0.0
    u_friction_n: float = 0.0

    @property
    def demand(self) -> Floats:
        """Load over capacity, shape (n,)."""
        return self.load_n / self.capacity_n

    @property
    def limiting(self) -> int:
        """Index of the greatest demand."""
        return int(np.argmax(self.demand))

    @property
    def limiting_angle_rad(self) -> float:
        """Where demand is greatest."""
        return float(self.angle_rad[self.limiting])

    @property
    def limiting_demand(self) -> float:
        """Demand there."""
        return float(self.demand[self.limiting])

    @property
    def u_limiting_demand(self) -> float:
        """Standard uncertainty of `limiting_demand`."""
        return float(self.u_demand[self.limiting])

    @property
    def evenness(self) -> float:
        """Mean demand along the handle's way over greatest demand: 1 when challenged evenly."""
        return float(self._along_the_way(self.demand) / self.demand.max())

    @property
    def under_challenged_share(self) -> float:
        """Part of the travel, by the handle's way, with demand below 70 % of the greatest."""
        return self._along_the_way(self.demand < UNDER_CHALLENGED * self.demand.max())

    def _along_the_way(self, values: Floats | Flags) -> float:
        """Mean over the handle's way; over the rotation where the way is not known."""
        along = self.travel.along
        way = self.angle_rad if along is None else along.shares(self.angle_rad)
        return float(np.average(values, weights=np.gradient(way)))

    @property
    def repetitions(self) -> RepetitionRange:
        """Repetitions to failure through all of `angle_rad`; a painful range never raises them."""
        return RepetitionRange(self.limiting_demand, self.u_limiting_demand, self.unmarked)

    def repetitions_within(
        self, *, from_rad: float | None = None, to_rad: float | None = None
    ) -> RepetitionRange:
        """Repetitions to failure when each starts at `from_rad`, or is turned at `to_rad`.

        Raises
        ------
        PainfulTravelError, OverlapError
            When the client would work where it hurts, where nothing is known, or hardly at all; see `working_travel`.
        """
        low, high = self.travel.with_ends(from_rad=from_rad, to_rad=to_rad).work_rad
        inside = (self.angle_rad >= low) & (self.angle_rad <= high)
        hardest = int(np.argmax(np.where(inside, self.demand, -np.inf)))
        return RepetitionRange(float(self.demand[hardest]), float(self.u_demand[hardest]), self.unmarked)

    @property
    def carried(self) -> tuple[Fact, ...]:
        """What is carried from the loads measured to this one."""
        facts = []
        lightest, heaviest = float(self.measured_kg.min()), float(self.measured_kg.max())
        if self.load_kg > FAR_ABOVE * heaviest or self.load_kg < FAR_BELOW * lightest:
            figures = {
                "load_kg": self.load_kg,
                "lightest_measured_kg": lightest,
                "heaviest_measured_kg": heaviest,
            }
            facts.append(Fact(MatchFact.LOAD_FAR_FROM_MEASURED, figures=figures))
        if self.load_kg > heaviest + SAME_LOAD_KG:
            above = {"load_kg": self.load_kg, "heaviest_measured_kg": heaviest}
            facts.append(Fact(MatchFact.LOAD_ABOVE_MEASURED, figures=above))
        if float(np.min(np.abs(self.measured_kg - self.load_kg))) > SAME_LOAD_KG:
            carried: dict[str, Figure] = {
                "load_kg": self.load_kg,
                "loads_kg": tuple(float(load) for load in self.measured_kg),
                "friction_n": self.friction_n,
            }
            if self.u_friction_n > 0.0:
                carried["u95_n"] = EXPANDED_COVERAGE_K * self.u_friction_n
            facts.append(Fact(MatchFact.FRICTION_CARRIED, Severity.NOTE, figures=carried))
        return tuple(facts)

    @property
    def warnings(self) -> tuple[Fact, ...]:
        """What a reader should know."""
        facts = list(self.carried)
        if float(self.demand.min()) > 1.0:
            facts.append(Fact(MatchFact.ABOVE_CAPACITY_EVERYWHERE))
        elif float(self.demand.max()) > 1.0:
            facts.append(Fact(MatchFact.ABOVE_CAPACITY_AT_LIMIT))
        if np.ptp(self.limiting_range_rad) > UNCLEAR_SHARE * np.ptp(self.angle_rad):
            facts.append(Fact(MatchFact.LIMITING_POSITION_UNCLEAR))
        return tuple(facts)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What goes with reading it."""
        return (*self.travel.cautions, Caution.ESTIMATE)

    def summary(self) -> Summary:
        """What it is, with the greatest demand."""
        u95, avoided = EXPANDED_COVERAGE_K * self.u_limiting_demand, len(self.travel.avoided_rad)
        demand = with_u95(100.0 * self.limiting_demand, 100.0 * u95, "% of capacity")
        columns = ("greatest demand (95 %)", "at start angle plus rotation", "painful ranges avoided")
        row = (demand, angle_text(self.limiting_angle_rad), str(avoided))
        return Summary(f"Demand of {mass_text(self.load_kg)} on a person", columns, (row,))

    def picture(self) -> Picture:
        """The demand with its band, painful ranges shaded."""
        u95 = EXPANDED_COVERAGE_K * self.u_demand
        curve = Curve.within("", self.angle_rad, 100.0 * self.demand, 100.0 * u95)
        along = self.travel.along
        return Picture(
            self.summary().title,
            "demand, % of capacity",
            (curve,),
            (BY_ANGLE,) if along is None else along.scales(),
            line_name="demand",
            level=("capacity", 100.0),
            spans=self.travel.avoided_rad,
        )

    def to_frame(self) -> pd.DataFrame:
        """One row an angle: ``angle_deg, load_n, capacity_n, demand, u_demand``."""
        import pandas as pd

        return pd.DataFrame(
            {
                "angle_deg": np.rad2deg(self.angle_rad),
                "load_n": self.load_n,
                "capacity_n": self.capacity_n,
                "demand": self.demand,
                "u_demand": self.u_demand,
            }
        )
