"""Load against capacity along the travel: where a client runs out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.capacity.overlap import even_grid
from feltload.coaching.cautions import Caution
from feltload.coaching.match.facts import MatchFact
from feltload.coaching.match.known import everything_known, travel_of
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.match.repetitions_to_failure import RepetitionRange
from feltload.coaching.pain.travel import WorkingTravel
from feltload.coaching.statistics.profile_difference import SAME_LOAD_KG
from feltload.core import (
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
    covariance_root,
    interpolation_weights,
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
DRAWS = 2000


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
        size, u95 = 100.0 * self.demand, 100.0 * EXPANDED_COVERAGE_K * self.u_demand
        curves = (Curve(mass_text(self.load_kg), self.angle_rad, size, u95),)
        title, y_label, avoided = self.summary().title, "demand, % of capacity", self.travel.avoided_rad
        return Picture.by_angle(title, y_label, curves, level=("capacity", 100.0), painful_rad=avoided)

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


def match_capacity(
    line: LoadLine,
    capacity: CapacityCurve,
    load_kg: float,
    *,
    from_rad: float | None = None,
    to_rad: float | None = None,
    seed: int = 1,
) -> Match:
    """Compare a load with a capacity.

    Parameters
    ----------
    line : LoadLine
        Of the machine.
    capacity : CapacityCurve
        Of the person, at the same handle.
    load_kg : float
        Plates.
    from_rad, to_rad : float, optional
        A later start, or where each repetition is turned.
    seed : int
        Of the draws that locate the limiting position.

    Raises
    ------
    PainfulTravelError, OverlapError
        When the client would work where it hurts, or too little is known; see `working_travel`.
    CoachingError
        When the load cannot be determined from what was measured.
    """
    travel = travel_of(line, capacity, from_rad=from_rad, to_rad=to_rad)
    angle = even_grid(*travel.work_rad)
    load, load_covariance, force, force_covariance = _both_at(line, capacity, load_kg, angle)
    generator = np.random.default_rng(seed)
    demands = _draws(generator, load, load_covariance) / np.maximum(
        _draws(generator, force, force_covariance), 1e-3 * force.max()
    )
    hardest = angle[np.argmax(demands, axis=1)]
    friction_variance = float(np.mean(line.friction_covariance_at(load_kg)))
    return Match(
        load_kg=load_kg,
        measured_kg=line.measured_kg,
        angle_rad=angle,
        load_n=load,
        capacity_n=force,
        u_demand=_u_demand(load, load_covariance, force, force_covariance),
        limiting_range_rad=(float(np.quantile(hardest, 0.025)), float(np.quantile(hardest, 0.975))),
        travel=travel,
        unmarked=tuple(
            _repetitions_over(line, curve, load_kg, grid) for grid, curve in everything_known(line, capacity)
        ),
        friction_n=float(np.mean(line.friction_at(load_kg))),
        u_friction_n=float(np.sqrt(max(friction_variance, 0.0))),
    )


def _both_at(
    line: LoadLine, capacity: CapacityCurve, load_kg: float, angle: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Load and capacity, each with its covariance, on the same angles."""
    weights = interpolation_weights(line.angle_rad, angle)
    load_covariance = np.asarray(weights @ line.covariance_at(load_kg) @ weights.T)
    load = np.interp(angle, line.angle_rad, line.raising_n(load_kg))
    return load, load_covariance, *capacity.at(angle)


def _u_demand(load: Floats, load_covariance: Floats, force: Floats, force_covariance: Floats) -> Floats:
    return np.hypot(
        np.sqrt(np.clip(np.diag(load_covariance), 0, None)) / force,
        load / force * np.sqrt(np.clip(np.diag(force_covariance), 0, None)) / force,
    )


def _repetitions_over(
    line: LoadLine, capacity: CapacityCurve, load_kg: float, angle: Floats
) -> RepetitionRange:
    both = load, _, force, _ = _both_at(line, capacity, load_kg, angle)
    hardest = int(np.argmax(load / force))
    return RepetitionRange(float(load[hardest] / force[hardest]), float(_u_demand(*both)[hardest]))


def _draws(generator: np.random.Generator, mean: Floats, covariance: Floats) -> Floats:
    root = covariance_root(covariance)
    return np.asarray(mean + generator.standard_normal((DRAWS, len(mean))) @ root.T)
