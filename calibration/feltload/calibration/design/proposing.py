"""A design from end to end: placed targets, stages, the proposal, what could relieve it, tolerances."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from feltload.calibration.design.free import FreeDimension, require_distinct
from feltload.calibration.design.knowing import free_combinations, require_say
from feltload.calibration.design.problem import Problem, make_problem
from feltload.calibration.design.proposal import DesignedCurve, Proposal, ProposedDimension
from feltload.calibration.design.relief import widened
from feltload.calibration.design.room import collisions, require_room, runs_away
from feltload.calibration.design.stages import Stage, stages
from feltload.calibration.design.tolerances import study_tolerances
from feltload.calibration.design.trade_off import Conflict, conflict_of
from feltload.calibration.machine.machine import Machine
from feltload.calibration.target.target import Target
from feltload.core import STANDARD_GRAVITY_M_S2, Floats

_POINTS: Final = 61
_PLACINGS: Final = 3
_PLACED_RAD: Final = 1e-4


def propose_design(
    machine: Machine,
    free: Sequence[FreeDimension],
    targets: Sequence[Target],
    *,
    loads_kg: Sequence[float],
    travel_rad: float,
    g_m_s2: float = STANDARD_GRAVITY_M_S2,
    seed: int = 1,
) -> Proposal:
    """Find the fewest changes of the free dimensions that meet the targets, or the design that comes nearest.

    Parameters
    ----------
    machine : Machine
    free : sequence of FreeDimension
        What may move; the rest stays.
    targets : sequence of Target
    loads_kg : sequence of float
        Loads to serve.
    travel_rad : float
        From the start stop, negative where the concentric phase turns that way; every design keeps it.
    g_m_s2 : float
    seed : int
        Of the search and of the drawn machines.

    Returns
    -------
    Proposal

    Raises
    ------
    DesignError
        Contradictory bounds, ones that put a mass into its pivot, or a dimension that no target depends on.
    GeometryError
        Within the bounds no machine can be assembled.
    TargetError
        A target lies outside the travel, wants no force, or excludes another one.
    MachineError
        The machine file says nothing about what is lifted.
    """
    require_distinct(free)
    require_room(machine, free)
    machine.require_masses(loads_kg)
    problem = make_problem(machine, free, targets, loads_kg, travel_rad, g_m_s2)
    require_say(problem, seed=seed)
    found = stages(problem, seed=seed)
    chosen = _choose(found)
    for _ in range(_PLACINGS):
        # Where the handle's way changes, so does the place of a target on it.
        values = problem.values(found[chosen].parts)
        again = make_problem(machine, free, targets, loads_kg, travel_rad, g_m_s2, values=values)
        if _placed_alike(problem, again):
            break
        problem = again
        found = stages(problem, seed=seed)
        chosen = _choose(found)
    return _proposal(problem, found, chosen, travel_rad, seed)


def _choose(found: Sequence[Stage]) -> int:
    """The first that meets, or the one that misses least."""
    meeting = [i for i, stage in enumerate(found) if stage.meets]
    return meeting[0] if meeting else int(np.argmin([stage.miss for stage in found]))


def _placed_alike(one: Problem, other: Problem) -> bool:
    return one.q_rad.shape == other.q_rad.shape and bool(
        np.allclose(one.q_rad, other.q_rad, atol=_PLACED_RAD)
    )


def _proposal(
    problem: Problem, found: tuple[Stage, ...], chosen: int, travel_rad: float, seed: int
) -> Proposal:
    stage, machine = found[chosen], problem.machine
    values = problem.values(stage.parts)
    moved = {problem.free[i].parameter.key: values[problem.free[i].parameter.key] for i in stage.moving}
    proposed = machine.with_parameters(moved)
    q = np.linspace(min(travel_rad, 0.0), max(travel_rad, 0.0), _POINTS)
    today, then = problem.forces_n({}, q), problem.forces_n(moved, q)
    curves = tuple(DesignedCurve(load, today[load], then[load]) for load in problem.loads_kg)
    return Proposal(
        machine=machine,
        proposed=proposed,
        travel_rad=travel_rad,
        demands=problem.demands,
        stages=found,
        chosen=chosen,
        free=problem.free,
        dimensions=tuple(_dimension(problem, stage, i, q) for i in stage.moving),
        q_rad=q,
        curves=curves,
        combinations=free_combinations(problem, stage.parts),
        tolerances=study_tolerances(problem, stage.parts, frozenset(moved), q, seed=seed),
        reliefs=() if stage.meets else widened(problem, stage, seed=seed),
        conflict=Conflict() if stage.meets else conflict_of(problem, stage, seed=seed),
        facts=(
            *collisions(machine, proposed, q),
            *runs_away(q, problem.loads_kg, np.array(list(today.values())), np.array(list(then.values()))),
        ),
    )


def _dimension(problem: Problem, stage: Stage, at: int, q: Floats) -> ProposedDimension:
    free, part = problem.free[at], float(stage.parts[at])
    key, value = free.parameter.key, free.value(part)
    step = 0.01 * free.parameter.per_unit
    ends = problem.forces_of_many_n(stage.parts, {key: value + step * np.array([1.0, -1.0])}, q)
    steepest = float(np.nanmax(np.abs(ends[0] - ends[1]), initial=0.0)) / 0.02
    near = 0.5 * free.step / free.span
    return ProposedDimension(free, value, steepest, not near < part < 1.0 - near)
