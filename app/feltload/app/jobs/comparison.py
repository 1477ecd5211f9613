"""Results of several machines or days held against the first of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, load_provenance
from feltload.app.text.difference_words import Place
from feltload.app.text.numbers import degrees, listed, load_text, newtons
from feltload.coaching import (
    SAME_LOAD_KG,
    ProfileDifference,
    Repeatability,
    profile_difference,
    repeatability,
)
from feltload.signal import START_ANGLE_SOURCE, ProfileEstimate, load_results

By = Literal["angle", "travel"]
GAIN_SOURCE = "force calibration gain"
MOST = 6
"""More curves in one figure cannot be told apart."""


@dataclass(frozen=True)
class Result:
    """One result of `feltload profile`, by the name that it is called here."""

    name: str
    estimate: ProfileEstimate
    provenance: Provenance

    def load_index(self, load_kg: float) -> int | None:
        """Index of a load; None where it was not measured."""
        found = np.flatnonzero(np.abs(self.estimate.loads_kg - load_kg) < SAME_LOAD_KG)
        return int(found[0]) if found.size else None


@dataclass(frozen=True)
class Pair:
    """A later result against the first.

    Attributes
    ----------
    name : str
        Of the later result.
    difference : ProfileDifference or None
        First minus later; None where no load was measured in both.
    assumed : tuple of str
        What counts as common to both, and what does not.
    """

    name: str
    difference: ProfileDifference | None
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Repeat:
    """How well measurements of one machine repeat at one load, and how many there were."""

    load_kg: float
    found: Repeatability
    measurements: int

    def words(self) -> str:
        """One sentence."""
        return (
            f"With {load_text(self.load_kg)}, the {self.measurements} measurements of this machine scatter by "
            f"{newtons(self.found.sem)} N at one position (standard deviation of one); two of them would differ by "
            f"more than {newtons(self.found.minimal_difference)} N in one case of twenty."
        )


@dataclass(frozen=True)
class Comparison:
    """All of it.

    Attributes
    ----------
    results : tuple of Result
        The first is what the others are held against.
    pairs : tuple of Pair
        One for each of the others.
    loads_kg : tuple of float
        Loads that all of them were measured at, ascending.
    by : {"angle", "travel"}
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
    def place(self) -> Place:
        """How a position of the first result is said."""
        if self.by == "angle":
            return degrees
        angle = self.results[0].estimate.angle_rad

        def part(angle_rad: float) -> str:
            return f"{100.0 * (angle_rad - angle[0]) / (angle[-1] - angle[0]):.0f} % of the travel"

        return part


def read_comparison(
    directories: Sequence[Path], *, by: By = "angle", load_kg: float | None = None
) -> Comparison:
    """Read the results and take their differences.

    Parameters
    ----------
    directories : sequence of Path
        Results of `feltload profile`, two or more.
    by : {"angle", "travel"}
        Compare at the same angle of the handle's line, or at the same part of the measured travel.
    load_kg : float, optional
        Compare at this load alone.

    Raises
    ------
    UsageError
        For fewer than two results or too many, or a load that one of them was not measured at.
    OverlapError
        When two of them share less than five degrees of travel.
    """
    if not 2 <= len(directories) <= MOST:
        raise UsageError(
            f"{len(directories)} result(s) named", where="compare", remedy=f"name two to {MOST} directories"
        )
    names = _names(directories)
    results = tuple(
        Result(name, load_results(path), load_provenance(path))
        for name, path in zip(names, directories, strict=True)
    )
    loads = [
        float(load)
        for load in results[0].estimate.loads_kg
        if all(one.load_index(float(load)) is not None for one in results)
    ]
    if load_kg is not None:
        loads = [load for load in loads if abs(load - load_kg) < SAME_LOAD_KG]
        if not loads:
            lacking = next(one for one in results if one.load_index(load_kg) is None)
            measured = listed([load_text(float(load)) for load in lacking.estimate.loads_kg])
            raise UsageError(
                f"{lacking.name} was not measured with {load_text(load_kg)}, but with {measured}",
                where="--load",
                remedy="name a load that all of them have, or leave it out",
            )
    pairs = tuple(_pair(results[0], one, loads, by) for one in results[1:])
    return Comparison(results, pairs, tuple(loads), by, _repeats(results, pairs))


def _repeats(results: Sequence[Result], pairs: Sequence[Pair]) -> tuple[Repeat, ...]:
    """Scatter of the measurements at each load, pooled over the travel that all of them cover."""
    machines = {one.provenance.machine_toml for one in results}
    told = [pair.difference for pair in pairs if pair.difference is not None]
    if not told or len(machines) > 1 or None in machines or any(one.established.any() for one in told):
        return ()
    low = max(float(one.angle_rad[0]) for one in told)
    high = min(float(one.angle_rad[-1]) for one in told)
    grid = told[0].angle_rad[(told[0].angle_rad >= low) & (told[0].angle_rad <= high)]
    repeats = []
    for k, load_kg in enumerate(told[0].loads_kg):
        # The first is the zero of each difference.
        others = [np.interp(grid, one.angle_rad, -one.difference_n[k]) for one in told]
        trials = np.column_stack([np.zeros(grid.size), *others])
        repeats.append(Repeat(float(load_kg), repeatability(trials.tolist()), len(results)))
    return tuple(repeats)


def _pair(first: Result, other: Result, loads_kg: Sequence[float], by: By) -> Pair:
    common, assumed = shared_errors(first.provenance, other.provenance)
    if not loads_kg:
        return Pair(other.name, None, assumed)
    theirs = other.estimate if by == "angle" else _on_travel_of(first.estimate, other.estimate)
    difference = profile_difference(first.estimate, theirs, common_sources=common)
    return Pair(
        other.name,
        difference.at_loads(loads_kg),
        assumed,
    )


def _on_travel_of(first: ProfileEstimate, other: ProfileEstimate) -> ProfileEstimate:
    """The other's curve moved to where the same part of the first's travel lies."""
    share = (other.angle_rad - other.angle_rad[0]) / np.ptp(other.angle_rad)
    return replace(other, angle_rad=first.angle_rad[0] + share * np.ptp(first.angle_rad))


def shared_errors(first: Provenance, other: Provenance) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Budget items whose error two results share, and in words what was assumed."""
    sources, said = [], []
    if first.machine_toml is not None and first.machine_toml == other.machine_toml:
        sources.append(START_ANGLE_SOURCE)
        said.append("the same machine file, so the error of its start angle is the same in both")
    else:
        said.append("different machine files, so their start angles are independent")
    mine, theirs = (
        {item for source in one.recordings for item in source.force_certificates} for one in (first, other)
    )
    complete = all(source.force_certificates for one in (first, other) for source in one.recordings)
    if complete and len(mine) == 1 and mine == theirs:
        sources.append(GAIN_SOURCE)
        said.append("the same load cell certificate, so its error is the same in both")
    else:
        said.append(
            "the load cells have no certificate in common, so their calibrations are independent"
            if not complete
            else "different load cell certificates, so their calibrations are independent"
        )
    twice = {source.sha256 for source in first.recordings} & {source.sha256 for source in other.recordings}
    if twice:
        names = listed(sorted(source.name for source in other.recordings if source.sha256 in twice))
        said.append(
            f"both rest on {names}, so much of their noise is the same, which the band does not take off"
        )
    said.append("everything else is independent, which can only widen the band")
    return tuple(sources), tuple(said)


def _names(directories: Sequence[Path]) -> list[str]:
    """Names of the directories; with the one above where two are called alike.

    Raises
    ------
    UsageError
        Where a directory is named twice.
    """
    resolved = [path.resolve() for path in directories]
    if len(set(resolved)) < len(resolved):
        raise UsageError(
            "a result is named twice", where=str(directories[-1]), remedy="name each directory once"
        )
    names = [path.name for path in resolved]
    return (
        names if len(set(names)) == len(names) else [f"{path.parent.name}/{path.name}" for path in resolved]
    )
