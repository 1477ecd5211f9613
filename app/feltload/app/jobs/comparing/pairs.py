"""A result compared with the first: force and friction at each load, with what the two share taken off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feltload.app.jobs.comparing.common_positions import By, on_travel_of, with_place_u
from feltload.app.jobs.comparing.results import Result
from feltload.app.jobs.comparing.shared_errors import shared_errors
from feltload.app.jobs.facts import ComparisonFact
from feltload.coaching import CurveDifference, ScaledBy, curve_difference, friction_curve, static_curve
from feltload.core import Fact, Severity
from feltload.signal import BudgetSource

LoadPair = tuple[float, float]
"""Load of the first result and of the other; they differ only where each is scaled by its own size."""


@dataclass(frozen=True)
class LoadDifference:
    """First result minus a later one at one load.

    Attributes
    ----------
    load_kg, other_load_kg : float
        Of the first and of the later one.
    force : CurveDifference
        Of the static force, N; of its parts of each one's own mean or peak where they are scaled.
    friction : CurveDifference or None
        Of the friction, N; None where one of them does not know it, or the loads differ.
    """

    load_kg: float
    other_load_kg: float
    force: CurveDifference
    friction: CurveDifference | None


@dataclass(frozen=True)
class Pair:
    """A later result against the first.

    Attributes
    ----------
    name : str
        Of the later result.
    loads : tuple of LoadDifference
        None where no load was measured in all results.
    assumed : tuple of Fact
        What counts as common to both, and what does not.
    """

    name: str
    loads: tuple[LoadDifference, ...]
    assumed: tuple[Fact, ...]


def compare_pair(
    first: Result,
    other: Result,
    loads_kg: Sequence[LoadPair],
    *,
    by: By,
    scaled_by: ScaledBy | None,
    curves: int,
) -> Pair:
    """Compare a result with the first at some loads; bands hold `curves` curves together.

    Raises
    ------
    OverlapError, ScalingError
        They share too little travel, or one of them cannot be scaled.
    """
    common, assumed = _common(first, other)
    if by == "travel" and first.estimate.machine_name != other.estimate.machine_name:
        assumed = (*assumed, Fact(ComparisonFact.OTHER_TRAVELS, Severity.NOTE))
    if scaled_by is not None:
        assumed = (*assumed, Fact(ComparisonFact.SCALED, Severity.NOTE, figures={"by": scaled_by}))
    theirs = other.estimate if by == "angle" else on_travel_of(first.estimate, other.estimate, by)
    ours = first.estimate
    rubbing = ours, theirs
    if by == "handle" and first.provenance.machine_toml != other.provenance.machine_toml:
        ours, theirs = with_place_u(ours), with_place_u(theirs)
    differences = []
    for load_kg, other_kg in loads_kg:
        index, its_index = first.load_index(load_kg), other.load_index(other_kg)
        if index is None or its_index is None:
            continue
        force = curve_difference(
            static_curve(ours, index),
            static_curve(theirs, its_index),
            common=common,
            scaled_by=scaled_by,
            curves=curves,
        )
        friction = None
        curves_of_friction = friction_curve(rubbing[0], index), friction_curve(rubbing[1], its_index)
        if load_kg == other_kg and curves_of_friction[0] and curves_of_friction[1]:
            friction = curve_difference(
                curves_of_friction[0], curves_of_friction[1], common=common, curves=curves
            )
        differences.append(LoadDifference(load_kg, other_kg, force, friction))
    return Pair(other.name, tuple(differences), assumed)


def _common(first: Result, other: Result) -> tuple[tuple[BudgetSource, ...], tuple[Fact, ...]]:
    if not (first.estimate.measured and other.estimate.measured):
        return (), (Fact(ComparisonFact.PREDICTED, Severity.NOTE),)
    if first.side != other.side:
        return (), (Fact(ComparisonFact.OTHER_SIDES, Severity.NOTE),)
    return shared_errors(first.provenance, other.provenance)
