"""Load against capacity along the travel: where a client runs out, and at which load."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from feltload.coaching.capacity.capacity import CapacityCurve
from feltload.coaching.capacity.overlap import SMALLEST_OVERLAP_RAD, shared_grid
from feltload.coaching.errors import CoachingError, OverlapError
from feltload.coaching.match.load_line import LoadLine
from feltload.core import Floats

UNDER_CHALLENGED = 0.7
"""Below this part of the greatest demand a position counts as under-challenged (our own convention)."""
DRAWS = 2000


@dataclass(frozen=True)
class Match:
    """What a load asks of a person, as a fraction of what the person has.

    Attributes
    ----------
    load_kg : float
    angle_rad : ndarray, shape (n,)
        The part of the travel where both are known.
    load_n, capacity_n, demand : ndarray, shape (n,)
        Force raising slowly, capacity, and their ratio.
    u_demand : ndarray, shape (n,)
        Standard uncertainty of `demand`.
    limiting_angle_rad : float
        Where demand is greatest.
    limiting_range_rad : tuple of float
        Where that position lies in 95 % of draws.
    limiting_demand, u_limiting_demand : float
        Demand there.
    evenness : float
        Mean demand over greatest demand: 1 when challenged evenly.
    under_challenged_share : float
        Part of the travel with demand below 70 % of the greatest.
    warnings : tuple of str
    """

    load_kg: float
    angle_rad: Floats
    load_n: Floats
    capacity_n: Floats
    demand: Floats
    u_demand: Floats
    limiting_angle_rad: float
    limiting_range_rad: tuple[float, float]
    limiting_demand: float
    u_limiting_demand: float
    evenness: float
    under_challenged_share: float
    warnings: tuple[str, ...] = ()

    def between(self, low_rad: float, high_rad: float) -> float:
        """Greatest demand between two positions, for a range cut short.

        Raises
        ------
        OverlapError
            When nothing of the travel lies between them.
        """
        inside = (self.angle_rad >= low_rad) & (self.angle_rad <= high_rad)
        if not inside.any():
            raise OverlapError(
                f"nothing of the travel lies between {np.rad2deg(low_rad):.0f}° and {np.rad2deg(high_rad):.0f}°",
                remedy=f"choose within {np.rad2deg(self.angle_rad[0]):.0f}° to {np.rad2deg(self.angle_rad[-1]):.0f}°",
            )
        return float(self.demand[inside].max())


def shared_angles(line: LoadLine, capacity: CapacityCurve) -> Floats:
    """Angles of the profile at which the capacity is known too.

    Raises
    ------
    OverlapError
        When they share less than 10°.
    """
    grid = shared_grid(line.angle_rad, capacity.angle_rad)
    if grid is None:
        raise OverlapError(
            f"the profile covers {np.rad2deg(line.angle_rad[0]):.0f}° to {np.rad2deg(line.angle_rad[-1]):.0f}°, the "
            f"capacity {np.rad2deg(capacity.angle_rad[0]):.0f}° to {np.rad2deg(capacity.angle_rad[-1]):.0f}°: less "
            f"than {np.rad2deg(SMALLEST_OVERLAP_RAD):.0f}° in common",
            remedy="measure the capacity on this machine, over the range that the client uses",
        )
    return grid


def match_capacity(line: LoadLine, capacity: CapacityCurve, load_kg: float, *, seed: int = 1) -> Match:
    """Compare a load with a capacity.

    Parameters
    ----------
    line : LoadLine
        Of the machine.
    capacity : CapacityCurve
        Of the person, at the same handle.
    load_kg : float
        Plates.
    seed : int
        Of the draws that locate the limiting position.

    Raises
    ------
    OverlapError
        When the two share less than 10° of travel.
    CoachingError
        When the load cannot be told from what was measured.
    """
    angle = shared_angles(line, capacity)
    load = np.interp(angle, line.angle_rad, line.raising_n(load_kg))
    weights = _weights(line.angle_rad, angle)
    load_covariance = weights @ line.covariance_at(load_kg) @ weights.T
    force, force_covariance = capacity.at(angle)
    demand = load / force
    u_demand = np.hypot(
        np.sqrt(np.clip(np.diag(load_covariance), 0, None)) / force,
        demand * np.sqrt(np.clip(np.diag(force_covariance), 0, None)) / force,
    )
    generator = np.random.default_rng(seed)
    draws = _draw(generator, load, load_covariance) / np.maximum(
        _draw(generator, force, force_covariance), 1e-3 * force.max()
    )
    places = angle[np.argmax(draws, axis=1)]
    worst = int(np.argmax(demand))
    notes = []
    if load_kg > 1.5 * line.measured_kg.max() or load_kg < 0.5 * line.measured_kg.min():
        measured = " and ".join(f"{m:g}" for m in line.measured_kg)
        notes.append(f"{load_kg:g} kg lies far from the loads measured ({measured} kg): a rough prediction")
    if float(demand.min()) > 1.0:
        notes.append("this load is above the capacity everywhere: no repetition is to be expected with it")
    elif float(demand.max()) > 1.0:
        notes.append("this load is above the capacity at the limiting position: the client stops before it")
    width = float(np.quantile(places, 0.975) - np.quantile(places, 0.025))
    if width > 0.5 * (angle[-1] - angle[0]):
        notes.append("demand is so even, or so uncertain, that the limiting position cannot be told apart")
    return Match(
        load_kg=load_kg,
        angle_rad=angle,
        load_n=load,
        capacity_n=force,
        demand=demand,
        u_demand=u_demand,
        limiting_angle_rad=float(angle[worst]),
        limiting_range_rad=(float(np.quantile(places, 0.025)), float(np.quantile(places, 0.975))),
        limiting_demand=float(demand[worst]),
        u_limiting_demand=float(u_demand[worst]),
        evenness=float(demand.mean() / demand.max()),
        under_challenged_share=float(np.mean(demand < UNDER_CHALLENGED * demand.max())),
        warnings=tuple(notes),
    )


def _weights(knots: Floats, at: Floats) -> Floats:
    return np.stack([np.interp(at, knots, row) for row in np.eye(len(knots))], axis=1)


def _draw(generator: np.random.Generator, mean: Floats, covariance: Floats) -> Floats:
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.clip(values, 0.0, None))
    return np.asarray(mean + generator.standard_normal((DRAWS, len(mean))) @ root.T)


def load_for_demand(
    line: LoadLine,
    capacity: CapacityCurve,
    fraction: float,
    *,
    low_rad: float | None = None,
    high_rad: float | None = None,
) -> float:
    """Load at which the greatest demand reaches a fraction of capacity.

    Parameters
    ----------
    fraction : float
        Wanted greatest demand, above 0.
    low_rad, high_rad : float, optional
        Ends of the range that counts; all of the shared travel when left out.

    Returns
    -------
    float
        Load in kg.

    Raises
    ------
    CoachingError
        When one load was measured, when the bare machine asks for more, or no possible load reaches it.
    """
    if not 0 < fraction <= 2:
        raise CoachingError(f"a demand of {fraction:g} is not possible", remedy="give a fraction such as 0.8")
    if not line.predicts:
        raise CoachingError(
            f"only {line.measured_kg[0]:g} kg was measured, so other loads cannot be told",
            remedy="record a second load and profile both together",
        )
    angle = shared_angles(line, capacity)
    inside = (angle >= (-np.inf if low_rad is None else low_rad)) & (
        angle <= (np.inf if high_rad is None else high_rad)
    )
    if not inside.any():
        raise OverlapError(
            "nothing of the travel lies in that range", remedy="choose a range that was measured"
        )
    force = capacity.at(angle[inside])[0]

    def excess(load_kg: float) -> float:
        return float(
            (np.interp(angle[inside], line.angle_rad, line.raising_n(load_kg)) / force).max() - fraction
        )

    if excess(0.0) > 0:
        raise CoachingError(
            f"the machine without plates already asks for more than {100 * fraction:.0f} % of the capacity",
            remedy="counterweight the arm, help by hand, or choose another machine",
        )
    top = 10.0 * float(line.measured_kg.max()) + 10.0
    if excess(top) < 0:
        raise CoachingError(
            f"no load up to {top:.0f} kg reaches {100 * fraction:.0f} % of the capacity",
            remedy="check that capacity and profile are of the same handle",
        )
    return float(brentq(excess, 0.0, top, xtol=1e-4))
