"""Results of several machines or days compared with the first of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, load_provenance
from feltload.app.jobs.comparing.common_positions import (
    By,
    on_travel_of,
    one_machine,
    require_positions,
    usual_positions,
    with_place_u,
)
from feltload.app.jobs.comparing.names import folder_names, result_names
from feltload.app.jobs.comparing.shared_errors import shared_errors
from feltload.app.jobs.facts import ComparisonFact
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.coaching import (
    SAME_LOAD_KG,
    ProfileDifference,
    Repeatability,
    profile_difference,
    repeatability,
)
from feltload.core import Fact, Severity, mass_text
from feltload.signal import ProfileEstimate, mean_friction_n

MOST = 30
"""More curves in one figure cannot be distinguished."""


@dataclass(frozen=True)
class Result:
    """One result of `feltload profile`, by the name that it is called here."""

    name: str
    estimate: ProfileEstimate
    provenance: Provenance

    def load_index(self, load_kg: float) -> int | None:
        """Index of a load; None where it was not measured."""
        index = np.flatnonzero(np.abs(self.estimate.loads_kg - load_kg) < SAME_LOAD_KG)
        return int(index[0]) if index.size else None


@dataclass(frozen=True)
class FrictionGap:
    """Mean friction of the first result minus that of a later one at one load, with its 95 % half-width."""

    load_kg: float
    difference_n: float
    u95_n: float

    @property
    def established(self) -> bool:
        """Whether it is more than the measurements' uncertainty."""
        return abs(self.difference_n) > self.u95_n


@dataclass(frozen=True)
class Pair:
    """A later result against the first.

    Attributes
    ----------
    name : str
        Of the later result.
    difference : ProfileDifference or None
        First minus later; None where no load was measured in both.
    assumed : tuple of Fact
        What counts as common to both, and what does not.
    friction : tuple of FrictionGap
        Difference of the mean friction, at each load where both know it.
    """

    name: str
    difference: ProfileDifference | None
    assumed: tuple[Fact, ...]
    friction: tuple[FrictionGap, ...] = ()


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
    repeats : tuple of Repeat
        One a load, where all are of one machine and none differs from the first.
    """

    results: tuple[Result, ...]
    pairs: tuple[Pair, ...]
    loads_kg: tuple[float, ...]
    by: By
    repeats: tuple[Repeat, ...] = ()

    @property
    def same_machine(self) -> bool:
        """Whether all of them are of one machine, so that a position of the first is one of all."""
        return one_machine([result.estimate for result in self.results])


def read_comparison(
    directories: Sequence[Path], *, by: By | None = None, load_kg: float | None = None
) -> Comparison:
    """Read the results and take their differences.

    Parameters
    ----------
    directories : sequence of Path
        Results of `feltload profile`, two or more.
    by : {"handle", "travel", "angle"}, optional
        Compare at the same way of the handle from the start stop, the same part of the measured travel, or the same
        lever angle. Left out, by the handle's way where all are of one machine whose file gives it, and otherwise by
        the part of the travel.
    load_kg : float, optional
        Compare at this load alone.

    Raises
    ------
    UsageError
        For fewer than two results or too many, a load that one of them was not measured at, or positions that not all
        of them have.
    OverlapError
        When two of them share less than five degrees of travel.
    """
    if not 2 <= len(directories) <= MOST:
        raise UsageError(
            f"names {len(directories)}, and two to {MOST} results can be compared",
            where="compare",
            remedy="name the directories that `feltload profile` wrote",
        )
    folders = folder_names(directories)
    read = [(load_possible(path), load_provenance(path)) for path in directories]
    names = result_names([estimate for estimate, _ in read], folders)
    results = tuple(Result(name, *each) for name, each in zip(names, read, strict=True))
    return compare_results(results, by=by, load_kg=load_kg)


def compare_results(
    results: tuple[Result, ...], *, by: By | None = None, load_kg: float | None = None
) -> Comparison:
    """Take the differences of results, each with the first.

    Raises
    ------
    UsageError
        For a load that one of them does not have, or positions that not all of them have.
    OverlapError
        When two of them share less than five degrees of travel.
    """
    loads = [
        float(load)
        for load in results[0].estimate.loads_kg
        if all(result.load_index(float(load)) is not None for result in results)
    ]
    if load_kg is not None:
        loads = [load for load in loads if abs(load - load_kg) < SAME_LOAD_KG]
        if not loads:
            lacking = next(result for result in results if result.load_index(load_kg) is None)
            measured = " and ".join(mass_text(load) for load in lacking.estimate.loads_kg)
            raise UsageError(
                f"{lacking.name} was not measured with {mass_text(load_kg)}, but with {measured}",
                where="--load",
                remedy="name a load that all of them have, or leave it out",
            )
    chosen = by or usual_positions([result.estimate for result in results])
    require_positions({result.name: result.estimate for result in results}, chosen)
    pairs = tuple(_pair(results[0], result, loads, chosen) for result in results[1:])
    return Comparison(results, pairs, tuple(loads), chosen, _repeats(results, pairs))


def _repeats(results: Sequence[Result], pairs: Sequence[Pair]) -> tuple[Repeat, ...]:
    """Scatter of the measurements at each load, pooled over the travel that all of them cover."""
    machines = {result.provenance.machine_toml for result in results}
    differences = [pair.difference for pair in pairs if pair.difference is not None]
    if (
        not differences
        or not all(result.estimate.measured for result in results)
        or len(machines) > 1
        or None in machines
        or any(d.established.any() for d in differences)
    ):
        return ()
    low = max(float(d.angle_rad[0]) for d in differences)
    high = min(float(d.angle_rad[-1]) for d in differences)
    grid = differences[0].angle_rad[(differences[0].angle_rad >= low) & (differences[0].angle_rad <= high)]
    repeats = []
    for k, load_kg in enumerate(differences[0].loads_kg):
        # The first is the zero of each difference.
        others = [np.interp(grid, d.angle_rad, -d.difference_n[k]) for d in differences]
        trials = np.column_stack([np.zeros(grid.size), *others])
        repeats.append(Repeat(float(load_kg), repeatability(trials.tolist()), len(results)))
    return tuple(repeats)


def _pair(first: Result, other: Result, loads_kg: Sequence[float], by: By) -> Pair:
    if first.estimate.measured and other.estimate.measured:
        common, assumed = shared_errors(first.provenance, other.provenance)
    else:
        common, assumed = (), (Fact(ComparisonFact.PREDICTED, Severity.NOTE),)
    if not loads_kg:
        return Pair(other.name, None, assumed)
    theirs = other.estimate if by == "angle" else on_travel_of(first.estimate, other.estimate, by)
    ours = first.estimate
    if by == "handle" and first.provenance.machine_toml != other.provenance.machine_toml:
        ours, theirs = with_place_u(ours), with_place_u(theirs)
    difference = profile_difference(ours, theirs, common_sources=common)
    return Pair(other.name, difference.at_loads(loads_kg), assumed, _friction_gaps(first, other, loads_kg))


def _friction_gaps(first: Result, other: Result, loads_kg: Sequence[float]) -> tuple[FrictionGap, ...]:
    """Differences of the mean friction; both bands as independent, which can only widen theirs."""
    gaps = []
    for load in loads_kg:
        indices = [result.load_index(load) for result in (first, other)]
        means = [
            mean_friction_n(result.estimate, index)
            for result, index in zip((first, other), indices, strict=True)
            if index is not None
        ]
        if len(means) == 2 and np.all(np.isfinite(means)):
            (ours, our_u95), (theirs, their_u95) = means
            gaps.append(FrictionGap(load, ours - theirs, float(np.hypot(our_u95, their_u95))))
    return tuple(gaps)


def difference_record(
    difference: ProfileDifference, k: int, at: Mapping[str, Sequence[float]]
) -> dict[str, object]:
    """The difference at the load `k` for programs, at the positions `at`, a list each."""
    gap = difference.difference_n[k]
    largest = int(np.argmax(np.abs(gap)))
    return {
        "load_kg": float(difference.loads_kg[k]),
        "difference_n": gap.tolist(),
        "difference_u95_n": difference.u95_n[k].tolist(),
        "difference_curve_u95_n": difference.curve_u95_n[k].tolist(),
        "mean_n": float(difference.mean_n[k]),
        "mean_u95_n": float(difference.mean_u95_n[k]),
        "largest": {
            **{name: values[largest] for name, values in at.items()},
            "difference_n": float(gap[largest]),
            "u95_n": float(difference.u95_n[k, largest]),
        },
        "differs": bool(np.any(difference.established[k])),
    }
