"""What explains a difference between a measured curve and the surveyed machine, as values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from feltload.calibration.agreement.loads import FittedLoad
from feltload.calibration.agreement.survey_fit import FittedDimension
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.parameters import Parameter, ParameterKey


class ExplanationKind(StrEnum):
    """What an explanation comes to."""

    NOTHING_DIFFERS = "nothing-differs"
    BANDS_TOO_WIDE = "bands-too-wide"
    DIMENSIONS_MOVED = "dimensions-moved"

    OTHER_LOADS = "other-loads"
    """Loads were not the stated ones, perhaps with dimensions moved beside."""

    BEYOND_DIMENSIONS = "beyond-dimensions"


class CauseKind(StrEnum):
    """What a set of causes is."""

    DIMENSIONS = "dimensions"
    """Dimensions, each by itself, perhaps with loads beside."""

    LOAD = "load"
    """Loads alone."""

    START_STOP = "start-stop"
    """The arm starts elsewhere, or everything was levelled wrong: all elevations at the start together."""

    OTHER_SIDE = "other-side"
    """Elevations as they are seen from the other side."""

    SIGN = "sign"
    """Elevations with the wrong sign."""

    BOTH_RADII = "both-radii"
    """Two radii of one pulley, by the same part."""

    DIAMETER = "diameter"
    """A diameter in place of a radius, or half of it."""

    RATIO = "ratio"
    """A pulley more or less."""

    LOAD_UNIT = "load-unit"
    """Loads in the other unit of mass."""

    CELL_GAIN = "cell-gain"
    """The load cell, which has no certificate, reads too much or too little."""


@dataclass(frozen=True)
class CurvePoint:
    """A force difference at one point of the curves.

    Attributes
    ----------
    load_kg, angle_rad : float
        Where.
    difference_n : float
        Measured minus predicted.
    """

    load_kg: float
    angle_rad: float
    difference_n: float


@dataclass(frozen=True)
class Moved:
    """A dimension as surveyed, and where it would have to be, SI."""

    surveyed: Parameter
    value: float


@dataclass(frozen=True)
class CauseSet:
    """Dimensions, and recordings with another load than stated, that together explain a difference.

    Attributes
    ----------
    dimensions : tuple of ParameterKey
    loads_kg : tuple of float
        As they were stated.
    kind : CauseKind
    moved : tuple of Moved
        Where the dimensions would have to be.
    looks_like_kg : tuple of float
        What the loads would have to be.
    gain : float
        What the cell makes of a newton.
    """

    dimensions: tuple[ParameterKey, ...]
    loads_kg: tuple[float, ...] = ()
    kind: CauseKind = CauseKind.DIMENSIONS
    moved: tuple[Moved, ...] = field(default=(), compare=False)
    looks_like_kg: tuple[float, ...] = field(default=(), compare=False)
    gain: float = field(default=1.0, compare=False)


@dataclass(frozen=True)
class LoadInstead:
    """A load recorded wrong that would look like the cause.

    Attributes
    ----------
    part : str
        Mass of the machine file that is the load.
    relative : float
        How much heavier it would have to be than recorded.
    """

    part: str
    relative: float


@dataclass(frozen=True)
class Explanation:
    """The cause of a difference, and what no cause explains. All empty where there is no difference to explain.

    Attributes
    ----------
    causes : tuple of FittedDimension
        Dimensions of the smallest set that explains the difference; of the closest one where none does.
    loads : tuple of FittedLoad
        Loads of that set: other ones were on the machine than was stated.
    tied : tuple of CauseSet
        Other sets that explain it as well.
    load_instead : LoadInstead or None
        Another load than the one recorded, where it would explain it as well.
    remaining : CurvePoint or None
        Where most remains that no change of dimensions explains; None where the causes are enough.
    best : CauseSet or None
        The set itself, without uncertainties.
    """

    causes: tuple[FittedDimension, ...] = ()
    loads: tuple[FittedLoad, ...] = ()
    tied: tuple[CauseSet, ...] = ()
    load_instead: LoadInstead | None = None
    remaining: CurvePoint | None = None
    best: CauseSet | None = field(default=None, compare=False)

    @property
    def kind(self) -> CauseKind:
        """What the best set is."""
        return CauseKind.DIMENSIONS if self.best is None else self.best.kind


def explain(
    machine: Machine,
    fitted: Sequence[FittedDimension],
    loads: tuple[FittedLoad, ...],
    sets: Sequence[CauseSet],
    remaining: CurvePoint | None,
) -> Explanation:
    """Gather what a difference is explained by.

    Parameters
    ----------
    machine : Machine
        The survey.
    fitted : sequence of FittedDimension
        Every uncertain dimension, fitted.
    loads : tuple of FittedLoad
        Loads of the best set.
    sets : sequence of CauseSet
        Sets that explain the difference equally well, best first.
    remaining : CurvePoint or None
        Where most remains, if they do not explain all of it.
    """
    by_key = {dimension.key: dimension for dimension in fitted}
    causes = tuple(by_key[key] for key in sets[0].dimensions if key in by_key) if sets else ()
    best = sets[0] if sets else None
    if remaining is not None:
        # What explains too little may have been fitted to what it cannot be.
        plausible = tuple(cause for cause in causes if _is_plausible(cause))
        return Explanation(plausible, loads, remaining=remaining, best=best)
    instead = None if loads else _load_instead(machine, causes)
    return Explanation(causes, loads, tied=tuple(sets[1:]), load_instead=instead, best=best)


def _is_plausible(cause: FittedDimension) -> bool:
    low, high = cause.surveyed.plausible
    return low <= cause.value <= high


def _load_instead(machine: Machine, causes: Sequence[FittedDimension]) -> LoadInstead | None:
    """A load further out and a heavier load have the same moment."""
    for rider in machine.riders:
        if (
            isinstance(rider, RidingMass)
            and rider.is_load
            and [c.key for c in causes] == [rider.key("radius")]
        ):
            return LoadInstead(rider.name, causes[0].value / causes[0].surveyed.value - 1.0)
    return None
