"""What a band or a chain adds at the handle, from a table of one's own."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from feltload.coaching.capacity.from_table import ANGLE_DEG, read_force_table
from feltload.coaching.errors import CoachingError, OverlapError
from feltload.coaching.match.load_line import AddedForce
from feltload.core import Floats
from feltload.signal import AngleKind, Travel

WAY_MM, PERCENT = "handle_travel_mm", "travel_percent"
OPEN_SHARE = 0.1
"""Part of the measured travel at each end over which a table's end value goes on (our own convention)."""


def added_from_table(path: Path, travel: Travel) -> AddedForce:
    """Read a band or chain from a CSV: positions as a result has them, and ``force_n``, 0 where it is slack.

    Parameters
    ----------
    path : Path
        Its name is the name of what is added. Positions are ``handle_travel_mm`` from the start stop,
        ``travel_percent`` of the measured travel, or ``angle_deg`` of a lever.
    travel : Travel
        The machine's measured travel.

    Raises
    ------
    CapacityError
        Naming file, row and column of what cannot be read.
    CoachingError
        When positions of this machine are not known that way.
    OverlapError
        When the table leaves more than a tenth of the measured travel open at an end.
    """
    column, (position, force_n, _) = read_force_table(path, (WAY_MM, PERCENT, ANGLE_DEG), slack=True)
    at_rad = _at_rad(column, position, travel, str(path))
    first, last = travel.shares(at_rad[[0, -1]])
    if first > OPEN_SHARE or last < 1.0 - OPEN_SHARE:
        raise OverlapError(
            f"gives the force from {travel.said_beside(at_rad[0])} to {travel.said_beside(at_rad[-1])} only",
            where=str(path),
            remedy=f"give it over the measured travel, {' to '.join(map(travel.said_beside, travel.ends_rad))}",
        )
    return AddedForce(path.stem, at_rad, force_n)


def _at_rad(column: str, position: Floats, travel: Travel, where: str) -> Floats:
    """Start angle plus rotation at each position."""
    if column == PERCENT:
        return np.array([travel.at_share(0.01 * float(percent)) for percent in position])
    if column == WAY_MM and travel.path_m is None:
        raise CoachingError(
            "is by the handle's way, which is not known on this machine",
            where=where,
            remedy=f"give {PERCENT}, the part of the measured travel",
        )
    if column == WAY_MM:
        return np.array([travel.at_way(1e-3 * float(way)) for way in position])
    if travel.scale.angle is not AngleKind.LEVER:
        raise CoachingError(
            f"is by {ANGLE_DEG}, and this machine has no lever angle: its sensor turns with the "
            f"{travel.scale.part or 'machine'}",
            where=where,
            remedy=f"give {WAY_MM} from the start stop, or {PERCENT}",
        )
    return np.deg2rad(position)
