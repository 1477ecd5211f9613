"""Where a person works on a machine, and all that is known of both there."""

from __future__ import annotations

from feltload.coaching.capacity.curve import CapacityCurve
from feltload.coaching.capacity.overlap import shared_grid
from feltload.coaching.match.load_line import LoadLine
from feltload.coaching.pain.travel import WorkingTravel, working_travel
from feltload.core import Floats


def travel_of(
    line: LoadLine, capacity: CapacityCurve, *, from_rad: float | None = None, to_rad: float | None = None
) -> WorkingTravel:
    """Where this person works on this machine; see `working_travel` for what it raises."""
    return working_travel(
        (float(line.angle_rad[0]), float(line.angle_rad[-1])),
        painful_rad=capacity.painful_rad,
        known_rad=(float(capacity.angle_rad[0]), float(capacity.angle_rad[-1])),
        from_rad=from_rad,
        to_rad=to_rad,
        along=line.travel,
    )


def everything_known(line: LoadLine, capacity: CapacityCurve) -> tuple[tuple[Floats, CapacityCurve], ...]:
    """Angles and curves of all that is known of a person who has a painful range; empty for one who has none.

    Nothing that is suggested may exceed what follows from these, so that a mark never makes a load or a repetition
    more.
    """
    if not capacity.painful_rad:
        return ()
    grids = ((shared_grid(line.angle_rad, curve.angle_rad), curve) for curve in capacity.unmarked)
    return tuple((grid, curve) for grid, curve in grids if grid is not None)
