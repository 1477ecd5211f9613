"""Readings at stops as arrays, and positions in whatever they were given as turned into rotation."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from feltload.core import Floats, Indices, InputError
from feltload.signal.session import Reference
from feltload.signal.stops.scale import DEFAULT_ANGLE_U_RAD, DEFAULT_SHARE_U, DEFAULT_WAY_U_M

_WAY_POINTS = 4001
"""Of the table in which a way of the handle is looked up; its error is far below any reading's."""


class PositionKind(StrEnum):
    """What a position is given as."""

    ELEVATION = "elevation"
    """Elevation of the handle's line, rad."""
    ROTATION = "rotation"
    """Rotation from the start stop, rad."""
    SHARE = "share"
    """Part of the whole travel, 0 to 1."""
    WAY = "way"
    """Way of the handle from the start stop, m."""


@dataclass(frozen=True)
class StopReadings:
    """Readings, one entry each.

    Attributes
    ----------
    row : ndarray (n,) of int
        Line of the table, for messages.
    q_rad : ndarray (n,)
        Rotation from the start stop.
    u_q_rad : ndarray (n,)
        Its standard uncertainty, common to all readings at one stop.
    force_n : ndarray (n,)
        As read, positive where the handle resists the concentric phase.
    way : ndarray (n,) of int
        1 raising, -1 lowering, 0 not noted.
    load_kg : ndarray (n,)
    step_n : float
        Smallest step that the readings were written with.
    position_stated : bool
        False when `u_q_rad` follows from a default.
    """

    row: Indices
    q_rad: Floats
    u_q_rad: Floats
    force_n: Floats
    way: Indices
    load_kg: Floats
    step_n: float
    position_stated: bool = False

    def of_load(self, load_kg: float) -> StopReadings:
        """Those of one load."""
        own = self.load_kg == load_kg
        return StopReadings(
            self.row[own], self.q_rad[own], self.u_q_rad[own], self.force_n[own], self.way[own],
            self.load_kg[own], self.step_n, self.position_stated,
        )  # fmt: skip


def rotation_of(
    positions: Floats,
    kind: PositionKind,
    reference: Reference,
    *,
    u: float | None = None,
    travel_rad: float | None = None,
    where: str = "",
) -> tuple[Floats, Floats]:
    """Rotation from the start stop and its standard uncertainty, shape (n,) each.

    Parameters
    ----------
    positions : ndarray, shape (n,)
        In the SI unit of their kind.
    kind : PositionKind
    reference : Reference
        Start angle, and for a way of the handle how it goes with the rotation.
    u : float, optional
        Standard uncertainty of a position, in the same unit; a default when left out.
    travel_rad : float, optional
        Whole travel from stop to stop, which shares are parts of.
    where : str
        The table, for messages.

    Raises
    ------
    InputError
        Shares without the travel; a way that the machine file does not give, or that leaves it.
    """
    at = np.asarray(positions, float)
    if kind is PositionKind.WAY:
        return _from_way(at, reference, DEFAULT_WAY_U_M if u is None else u, where)
    if kind is PositionKind.SHARE:
        if travel_rad is None:
            raise InputError(
                "gives positions as parts of the travel, and the travel is not known",
                where=where,
                remedy='say how far the arm turns from stop to stop, such as --travel "85 deg"',
            )
        share_u = DEFAULT_SHARE_U if u is None else u
        return at * travel_rad, np.full(at.size, share_u * travel_rad)
    offset = reference.start_angle_rad if kind is PositionKind.ELEVATION else 0.0
    return at - offset, np.full(at.size, DEFAULT_ANGLE_U_RAD if u is None else u)


def _from_way(way_m: Floats, reference: Reference, u_m: float, where: str) -> tuple[Floats, Floats]:
    travel = reference.handle_travel
    if travel is None:
        raise InputError(
            "gives positions as ways of the handle, which the machine file does not describe",
            where=where,
            remedy="give angles instead (rotation_deg or angle_deg)",
        )
    q = np.linspace(0.0, float(travel.q_rad[-1]), _WAY_POINTS)
    path = travel.path_m(q)
    if path is None or np.max(way_m) > path[-1] or np.min(way_m) < 0.0:
        longest = 0.0 if path is None else float(path[-1])
        raise InputError(
            f"a way of the handle lies outside 0 to {100.0 * longest:.0f} cm, which the machine file allows",
            where=where,
            remedy="measure along the handle's path from the start stop, or check the machine file",
        )
    rotation = np.interp(way_m, path, q)
    per_rad = np.interp(rotation, q, np.gradient(path, q))
    return np.asarray(rotation), np.asarray(u_m / per_rad)
