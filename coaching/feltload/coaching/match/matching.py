"""A load compared with a capacity, both with their covariances."""

from __future__ import annotations

import numpy as np

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.capacity.overlap import even_grid
from feltload.coaching.match.known import everything_known, travel_of
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.match.match import Match
from feltload.coaching.match.repetitions_to_failure import RepetitionRange
from feltload.core import Floats, covariance_root, interpolation_weights

DRAWS = 2000


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
