"""Which weights to hang on a load cell, in which order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feltload.calibration.errors import OverloadError, ReadingsError
from feltload.calibration.force.checks import FEWEST_LOADS
from feltload.calibration.weights.gravity import local_gravity
from feltload.core import Quantity


@dataclass(frozen=True)
class LoadStep:
    """One load of a plan.

    Attributes
    ----------
    series : int
        Run, from 1.
    direction : {"rising", "falling"}
    position_deg : float or None
        Turn of the cell about its axis; None where it is not turned.
    mass : Quantity or None
        Weight to hang; None for the empty cell.
    """

    series: int
    direction: str
    position_deg: float | None
    mass: Quantity | None

    @property
    def mass_kg(self) -> float:
        """Mass in kg, 0 for the empty cell."""
        return 0.0 if self.mass is None else self.mass.value

    @property
    def mass_text(self) -> str:
        """Mass as it was written, "0" for the empty cell."""
        return "0" if self.mass is None else self.mass.text


def plan_steps(
    weights: Sequence[Quantity],
    *,
    rated_capacity_n: float | None,
    positions_deg: Sequence[float | None] = (None, None, None),
    latitude_rad: float | None = None,
) -> tuple[LoadStep, ...]:
    """Empty, rising to the top, falling, empty: once per position.

    Parameters
    ----------
    weights : sequence of Quantity
        Total masses to hang, in any order.
    rated_capacity_n : float or None
        Rated capacity of the cell; nothing is hung without it.
    positions_deg : sequence of float or None
        One series each, with the cell turned so; None leaves it as it is.
    latitude_rad : float, optional
        Place, for the force of the weights.

    Raises
    ------
    OverloadError
        A weight above the rated capacity, or no rated capacity known.
    ReadingsError
        Too few weights, or one twice.
    """
    if rated_capacity_n is None:
        raise OverloadError(
            "the rated capacity of the cell is not stated",
            remedy='state rated_capacity_n in the rig file or "# rated capacity: 2 kN" in the readings file, as '
            "the cell's maker gives it",
        )
    rising = sorted(weights, key=lambda item: item.value)
    masses = [item.value for item in rising]
    if any(not mass > 0 for mass in masses) or len(set(masses)) < len(masses):
        raise ReadingsError(
            "weights must be above zero and each named once",
            remedy="the empty cell is read by itself at both ends",
        )
    if len(rising) < FEWEST_LOADS:
        raise ReadingsError(
            f"{len(rising)} weights are too few for a curve",
            remedy=f"name {FEWEST_LOADS} or more, from a fifth of the range to its top",
        )
    heaviest = rising[-1]
    force_n = heaviest.value * local_gravity(latitude_rad).value
    if force_n > rated_capacity_n:
        raise OverloadError(
            f"{heaviest.text} is {force_n:.0f} N on a cell rated {rated_capacity_n:.0f} N: do not hang it",
            remedy="stay within the rated capacity of cell, shackles and straps with their safety factor, "
            "and keep clear of hung weights",
        )
    ladder: list[tuple[str, Quantity | None]] = [("rising", None), *(("rising", item) for item in rising)]
    ladder += [*(("falling", item) for item in reversed(rising[:-1])), ("falling", None)]
    return tuple(
        LoadStep(series, direction, position, mass)
        for series, position in enumerate(positions_deg, start=1)
        for direction, mass in ladder
    )
