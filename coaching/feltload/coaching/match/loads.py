"""Loads found the other way round: for a wanted demand, and under a limit of force."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.capacity.overlap import even_grid
from feltload.coaching.cautions import Caution
from feltload.coaching.errors import CoachingError, PainfulTravelError
from feltload.coaching.match.known import everything_known, travel_of
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.pain.marks import free_pieces, said
from feltload.core import EXPANDED_COVERAGE_K, Floats


def load_for_demand(line: LoadLine, capacity: CapacityCurve, fraction: float) -> float:
    """Load at which the greatest demand reaches a fraction of capacity.

    Over the travel that the client works in; with a painful range marked, no more than over all that is known.

    Parameters
    ----------
    fraction : float
        Wanted greatest demand, above 0.

    Returns
    -------
    float
        Load in kg.

    Raises
    ------
    CoachingError
        When one load was measured, when the bare machine asks for more, or no possible load reaches it.
    PainfulTravelError, OverlapError
        When too little travel is left or known; see `working_travel`.
    """
    if not 0 < fraction <= 2:
        raise CoachingError(f"a demand of {fraction:g} is not possible", remedy="give a fraction such as 0.8")
    line.require_prediction()
    work = even_grid(*travel_of(line, capacity).work_rad)
    capacities = [
        (angle, curve.at(angle)[0]) for angle, curve in ((work, capacity), *everything_known(line, capacity))
    ]

    def excess(load_kg: float) -> float:
        force = line.raising_n(load_kg)
        return max(
            float((np.interp(angle, line.angle_rad, force) / has).max() - fraction)
            for angle, has in capacities
        )

    if excess(0.0) > 0:
        raise CoachingError(
            f"the machine without plates already asks for more than {100 * fraction:.0f} % of the capacity",
            remedy="counterweight the arm, help by hand, or choose another machine",
        )
    top = _most_kg(line)
    if excess(top) < 0:
        raise CoachingError(
            f"no load up to {top:.0f} kg reaches {100 * fraction:.0f} % of the capacity",
            remedy="check that capacity and profile are of the same handle",
        )
    return float(scipy.optimize.brentq(excess, 0.0, top, xtol=1e-4))


@dataclass(frozen=True)
class LoadLimit:
    """The greatest load that keeps the force under a limit between two positions.

    Attributes
    ----------
    load_kg : float
        With the upper end of the 95 % band still under the limit.
    limit_n : float
    at_rad : float
        Position that decides.
    painful_rad : tuple of (low_rad, high_rad)
        Ranges marked painful, all outside the two positions.
    """

    load_kg: float
    limit_n: float
    at_rad: float
    painful_rad: tuple[tuple[float, float], ...] = ()

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Shown wherever the load is shown."""
        pain = (Caution.PAINFUL_RANGE,) if self.painful_rad else ()
        return (*pain, Caution.LIMIT_TREATS_NOTHING)


def greatest_load(
    line: LoadLine,
    limit_n: float,
    low_rad: float,
    high_rad: float,
    *,
    painful: Sequence[tuple[float, float]] = (),
) -> LoadLimit:
    """Greatest load with the force raising slowly under `limit_n` between two positions.

    Parameters
    ----------
    painful : sequence of (low_rad, high_rad)
        Ranges marked painful, which no load is given for.

    Raises
    ------
    CoachingError
        When one load was measured, the machine without plates is already above the limit, or no possible load is.
    OverlapError
        When nothing was measured between the positions.
    PainfulTravelError
        When something between them is marked painful.
    """
    pieces = free_pieces(low_rad, high_rad, painful)
    if pieces != ((low_rad, high_rad),):
        outside = " or ".join(said(*piece) for piece in pieces)
        raise PainfulTravelError(
            f"part of {said(low_rad, high_rad)} is marked painful: no load is given there",
            remedy=f"name positions outside it{': ' + outside if outside else ''}",
        )
    part = line.cut_to(low_rad, high_rad)
    part.require_prediction()

    def upper(load_kg: float) -> Floats:
        return part.raising_n(load_kg) + EXPANDED_COVERAGE_K * part.u_n(load_kg)

    bare = upper(0.0)
    if float(bare.max()) > limit_n:
        raise CoachingError(
            f"the machine without plates already asks for {bare.max():.0f} N there, above {limit_n:.0f} N",
            remedy="cut the range short of that position, or leave this machine",
        )
    low, high = 0.0, _most_kg(part)
    if float(upper(high).max()) <= limit_n:
        raise CoachingError(
            f"no load up to {high:.0f} kg asks for {limit_n:.0f} N there, so that none is the greatest",
            remedy="give a lower force, such as one that a person has at this handle",
        )
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(upper(middle).max()) <= limit_n else (low, middle)
    return LoadLimit(low, limit_n, float(part.angle_rad[int(np.argmax(upper(low)))]), tuple(painful))


def _most_kg(line: LoadLine) -> float:
    """Heaviest load that is looked at."""
    return 10.0 * float(line.measured_kg.max()) + 10.0
