"""What the band of a profile is made of: sources of uncertainty by kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from feltload.core import Figure, Floats


class BudgetSource(StrEnum):
    """Sources of uncertainty of the static profile."""

    REPEATABILITY = "repeatability"
    """Noise, unsteadiness and smoothing: the statistical part."""
    FORCE_GAIN = "force-gain"
    LINE_OF_PULL = "line-of-pull"
    START_ANGLE = "start-angle"
    """From the machine file; a comparison at given rotation leaves it out."""
    FORCE_ZERO = "force-zero"
    ZERO_DRIFT = "zero-drift"
    ANGLE_SCALE = "angle-scale"
    """Part of the lever angle's error that is proportional to the rotation."""
    ANGLE_START_STOP = "angle-start-stop"
    """Where rotation is counted from."""
    ANGLE_SHAPE = "angle-shape"
    """Part of the lever angle's error that is the same at a position in every repetition."""
    LAG = "lag"
    LOAD_MASS = "load-mass"
    SCALE_RESOLUTION = "scale-resolution"
    """Smallest step of a scale that is read by hand."""
    POSITION_READING = "position-reading"
    """Where a stop lies, read by eye."""
    BETWEEN_STOPS = "between-stops"
    """What the curve may do where nothing was read."""
    FRICTION = "friction"
    """Of unknown size, where it was not separated from the force."""
    DIMENSION = "dimension"
    """Of the machine file, behind a predicted profile: figure `dimension`."""
    GRAVITY = "gravity"
    """Behind a predicted profile: figure `place`."""


DRAWN_ALONG_THE_TRAVEL = (
    BudgetSource.REPEATABILITY,
    BudgetSource.SCALE_RESOLUTION,
    BudgetSource.POSITION_READING,
    BudgetSource.BETWEEN_STOPS,
)
"""Sources whose errors differ from position to position; their curve is the standard uncertainty itself."""


class BudgetBasis(StrEnum):
    """Where the size of a source comes from."""

    HALF_REPETITION_SPREAD = "half-repetition-spread"
    CERTIFICATE = "certificate"
    """Figure `serial`."""
    STATED = "stated"
    DEFAULT = "default"
    """Nobody stated it."""
    MACHINE_FILE = "machine-file"
    READINGS = "readings"
    """The readings themselves, by how they scatter and how they are written."""
    TARE = "tare"
    ZERO_AFTERWARDS = "zero-afterwards"
    REPETITIONS = "repetitions"
    """What equal positions at different times show."""
    MOTION_SMOOTHER = "motion-smoother"
    LAG_READINGS = "lag-readings"
    """Figure `methods`."""
    STATED_AT_MOST = "stated-at-most"
    """Stated, and an upper bound: one load cannot separate its share from the arm's."""
    OLDER_FORMAT = "older-format"
    """Read from a file that states it in words: figure `text`."""


@dataclass(frozen=True)
class BudgetItem:
    """One source of uncertainty and what it does to the static profile.

    Attributes
    ----------
    source : BudgetSource
    curve_n : ndarray, shape (m, n)
        Signed change of the static force, in N, when the source is off by one standard uncertainty.
        For sources of `DRAWN_ALONG_THE_TRAVEL` the standard uncertainty itself.
    basis : BudgetBasis
        Where the size comes from.
    session : str
        Session it belongs to; empty when one error is common to all.
    stated : bool
        False when the size is a default, because nobody stated it.
    figures : mapping
        What belongs to the basis, name with its SI unit as suffix -> value.
    """

    source: BudgetSource
    curve_n: Floats
    basis: BudgetBasis = BudgetBasis.STATED
    session: str = ""
    stated: bool = True
    figures: Mapping[str, Figure] = field(default_factory=dict)

    @property
    def systematic(self) -> bool:
        """Whether one draw of the source moves the whole curve together."""
        return self.source not in DRAWN_ALONG_THE_TRAVEL

    @property
    def mean_square_n2(self) -> float:
        """Mean variance over all loads and angles."""
        return float(np.mean(self.curve_n**2))

    @property
    def u_n(self) -> float:
        """Root mean square of `curve_n` over all loads and angles."""
        return float(np.sqrt(self.mean_square_n2))


def budget_shares(items: Sequence[BudgetItem]) -> list[float]:
    """Part of the mean combined variance that each source makes, 0 to 1."""
    squares = [item.mean_square_n2 for item in items]
    total = max(sum(squares), 1e-300)
    return [square / total for square in squares]
