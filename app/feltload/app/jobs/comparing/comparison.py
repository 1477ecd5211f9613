"""Results of several machines or days compared with the first of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.jobs.comparing.common_positions import By, one_machine, require_positions, usual_positions
from feltload.app.jobs.comparing.pairs import LoadPair, Pair, compare_pair
from feltload.app.jobs.comparing.results import Result, read_results
from feltload.coaching import SAME_LOAD_KG, Repeatability, ScaledBy, repeatability
from feltload.core import mass_text


@dataclass(frozen=True)
class Repeat:
    """How well measurements of one machine repeat at one load, and how many there were."""

    load_kg: float
    repeatability: Repeatability
    measurements: int


@dataclass(frozen=True)
class Comparison:
    """All of it.

    Attributes
    ----------
    results : tuple of Result
        The others are compared with the first.
    pairs : tuple of Pair
        One for each of the others.
    loads_kg : tuple of float
        Loads that all of them were measured at, ascending.
    by : {"handle", "travel", "angle"}
        What counts as the same position.
    scaled_by : {"mean", "peak"} or None
        What each force is a part of; None where forces are compared as they are.
    repeats : tuple of Repeat
        One a load, where all are of one machine and none differs from the first.
    """

    results: tuple[Result, ...]
    pairs: tuple[Pair, ...]
    loads_kg: tuple[float, ...]
    by: By
    scaled_by: ScaledBy | None = None
    repeats: tuple[Repeat, ...] = ()

    @property
    def same_machine(self) -> bool:
        """Whether all of them are of one machine, so that a position of the first is one of all."""
        return one_machine([result.estimate for result in self.results])

    def shown(self, result: Result) -> list[int]:
        """Indices of the loads of a result that are shown: those in common, or all where there are none."""
        indices = [result.load_index(load) for load in self.loads_kg]
        return [index for index in indices if index is not None] or list(range(result.estimate.loads_kg.size))

    @property
    def compared(self) -> bool:
        """Whether differences were taken at all."""
        return any(pair.loads for pair in self.pairs)

    @property
    def curves(self) -> int:
        """How many differences are looked at together, whose bands hold all of them in 95 % of cases."""
        return sum(len(pair.loads) for pair in self.pairs)


def read_comparison(
    directories: Sequence[Path],
    *,
    by: By | None = None,
    load_kg: float | None = None,
    scaled_by: ScaledBy | None = None,
) -> Comparison:
    """Read the results and take their differences.

    Parameters
    ----------
    directories : sequence of Path
        Results of `feltload profile`, two or more; one with both arms counts as two.
    by : {"handle", "travel", "angle"}, optional
        Compare at the same way of the handle from the start stop, the same part of the measured travel, or the same
        lever angle. Left out, by the handle's way where all are of one machine whose file gives it, and otherwise by
        the part of the travel.
    load_kg : float, optional
        Compare at this load alone.
    scaled_by : {"mean", "peak"}, optional
        Compare each force as a part of its own mean or peak over the shared travel; without a load in common, each
        with its heaviest.

    Raises
    ------
    UsageError
        For fewer than two results or too many, a load that one of them was not measured at, or positions that not all
        of them have.
    OverlapError, ScalingError
        When two of them share less than five degrees of travel, or one cannot be scaled.
    """
    return compare_results(read_results(directories), by=by, load_kg=load_kg, scaled_by=scaled_by)


def compare_results(
    results: tuple[Result, ...],
    *,
    by: By | None = None,
    load_kg: float | None = None,
    scaled_by: ScaledBy | None = None,
) -> Comparison:
    """Take the differences of results, each with the first.

    Raises
    ------
    UsageError
        For a load that one of them does not have, or positions that not all of them have.
    OverlapError, ScalingError
        When two of them share less than five degrees of travel, or one cannot be scaled.
    """
    loads = _common_loads(results, load_kg)
    chosen = by or usual_positions([result.estimate for result in results])
    require_positions({result.name: result.estimate for result in results}, chosen)
    first, others = results[0], results[1:]
    pairs = []
    for other in others:
        at: list[LoadPair] = [(load, load) for load in loads]
        if not at and scaled_by is not None:
            at = [
                (
                    float(first.estimate.loads_kg[first.heaviest]),
                    float(other.estimate.loads_kg[other.heaviest]),
                )
            ]
        curves = len(others) * len(at)
        pairs.append(compare_pair(first, other, at, by=chosen, scaled_by=scaled_by, curves=max(1, curves)))
    repeats = () if scaled_by is not None else _repeats(results, pairs)
    return Comparison(results, tuple(pairs), tuple(loads), chosen, scaled_by, repeats)


def _common_loads(results: Sequence[Result], load_kg: float | None) -> list[float]:
    loads = [
        float(load)
        for load in results[0].estimate.loads_kg
        if all(result.load_index(float(load)) is not None for result in results)
    ]
    if load_kg is None:
        return loads
    chosen = [load for load in loads if abs(load - load_kg) < SAME_LOAD_KG]
    if not chosen:
        lacking = next(result for result in results if result.load_index(load_kg) is None)
        measured = " and ".join(mass_text(load) for load in lacking.estimate.loads_kg)
        raise UsageError(
            f"{lacking.name} was not measured with {mass_text(load_kg)}, but with {measured}",
            where="--load",
            remedy="name a load that all of them have, or leave it out",
        )
    return chosen


def _repeats(results: Sequence[Result], pairs: Sequence[Pair]) -> tuple[Repeat, ...]:
    """Scatter of the measurements at each load, pooled over the travel that all of them cover."""
    machines = {result.provenance.machine_toml for result in results}
    if (
        not all(pair.loads for pair in pairs)
        or not all(result.estimate.measured for result in results)
        or len({result.side for result in results}) > 1
        or len(machines) > 1
        or None in machines
        or any(at.force.established.any() for pair in pairs for at in pair.loads)
    ):
        return ()
    repeats = []
    for alike in zip(*(pair.loads for pair in pairs), strict=True):
        grid = alike[0].force.angle_rad
        for at in alike:
            grid = grid[(grid >= at.force.angle_rad[0]) & (grid <= at.force.angle_rad[-1])]
        # The first is the zero of each difference.
        others = [np.interp(grid, at.force.angle_rad, -at.force.values) for at in alike]
        trials = np.column_stack([np.zeros(grid.size), *others])
        repeats.append(Repeat(alike[0].load_kg, repeatability(trials.tolist()), len(results)))
    return tuple(repeats)
