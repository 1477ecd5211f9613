"""Targets: the force that is wanted by position, with a tolerance.

A target is in newtons, or relative: of the force at its first position ("falls 25(5) % from start to end"), or of a
scale that the machine may choose ("proportional to this strength"). The tolerance is the half-width of what is
allowed, in newtons or as a part of the scale; it is no uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from feltload.calibration.errors import TargetError
from feltload.core import Flags, Floats
from feltload.signal import AngleKind, Travel

_END_SLACK: Final = 0.005
"""A position this part of the travel outside it is its end."""
_BISECTIONS: Final = 30
_ROUNDING: Final = 1e-9


class TargetAxis(StrEnum):
    """What the positions of a target are."""

    TRAVEL = "travel"
    """Part of the travel, 0 to 1."""

    HANDLE = "handle"
    """Way of the handle from the start stop, m."""

    ANGLE = "angle"
    """The angle that is shown on this machine, rad."""


class TargetScale(StrEnum):
    """What the wanted values are parts of."""

    NEWTONS = "newtons"
    """Nothing: they are newtons."""

    FIRST = "first-position"
    """The force at the target's first position."""

    FREE = "free"
    """Any one force: only the shape is wanted."""


@dataclass(frozen=True)
class Target:
    """A wanted force by position.

    Attributes
    ----------
    text : str
        As it was written, or the name of its file.
    axis : TargetAxis
    at : ndarray, shape (k,)
        Positions, ascending.
    wanted : ndarray, shape (k,)
        Newtons, or parts of the scale.
    tolerance : ndarray, shape (k,)
        Half-width of what is allowed, in the same unit.
    scale : TargetScale
    between : bool
        Whether the straight line between the positions is wanted too, or the positions alone.
    load_kg : float, optional
        Load that it is for; None for every load.
    """

    text: str
    axis: TargetAxis
    at: Floats
    wanted: Floats
    tolerance: Floats
    scale: TargetScale
    between: bool = True
    load_kg: float | None = None

    def __post_init__(self) -> None:
        n = self.at.size
        if n == 0 or self.wanted.shape != (n,) or self.tolerance.shape != (n,):
            raise TargetError("its positions, forces and tolerances differ in number", where=self.text)
        every = np.concatenate([self.at, self.wanted, self.tolerance])
        if not np.all(np.isfinite(every)) or np.any(np.diff(self.at) <= 0.0):
            raise TargetError(
                "its positions do not rise, or a value in it is not finite",
                where=self.text,
                remedy="give each position once, ascending",
            )
        if np.any(self.tolerance <= 0.0):
            raise TargetError(
                "has no tolerance, so nothing could meet it",
                where=self.text,
                remedy='give one, such as "250 ± 20 N" or "25 ± 5 %"',
            )
        if self.scale is not TargetScale.NEWTONS and np.any(self.wanted - self.tolerance <= 0.0):
            raise TargetError(
                "its tolerance lets the force fall to zero",
                where=self.text,
                remedy="give a tolerance that is smaller than the force",
            )

    def on(self, travel: Travel, angle_rad: Floats) -> PlacedTarget:
        """The target where it lies on a machine's travel.

        Parameters
        ----------
        travel : Travel
            What its positions are positions of.
        angle_rad : ndarray, shape (n,)
            Start angle plus rotation of the curve, ascending; a target `between` positions is asked at all of these
            that it spans.

        Raises
        ------
        TargetError
            A position of the target lies outside the travel, or this machine has no such position.
        """
        places = self._places_rad(travel)
        if self.between and places.size > 1:
            low, high = np.min(places), np.max(places)
            inner = angle_rad[(angle_rad > low) & (angle_rad < high)]
            at_rad = np.unique(np.concatenate([places, inner]))
        else:
            at_rad = np.sort(places)
        first = int(np.searchsorted(at_rad, places[0]))
        position = self._positions(travel, at_rad)
        wanted, tolerance = (np.interp(position, self.at, values) for values in (self.wanted, self.tolerance))
        return PlacedTarget(self, at_rad, wanted, tolerance, min(first, at_rad.size - 1), travel)

    def _places_rad(self, travel: Travel) -> Floats:
        """Start angle plus rotation at each position, as they are listed."""
        self._require_axis(travel)
        places = [self._place_rad(travel, float(value)) for value in self.at]
        low, high = travel.ends_rad
        slack = _END_SLACK * (high - low)
        for value, place in zip(self.at, places, strict=True):
            if place is None or not low - slack <= place <= high + slack:
                raise TargetError(
                    f"its position {self.position_text(float(value))} lies outside the travel, which is "
                    f"{travel.said_beside(low)} to {travel.said_beside(high)}",
                    where=self.text,
                    remedy="keep to the travel, or use parts of it: 0 to 100 %",
                )
        return np.asarray(np.clip(np.array(places, dtype=float), low, high))

    def _require_axis(self, travel: Travel) -> None:
        lacks = {
            TargetAxis.HANDLE: travel.path_m is None,
            TargetAxis.ANGLE: travel.scale.angle is AngleKind.ROTATION,
            TargetAxis.TRAVEL: False,
        }
        if lacks[self.axis]:
            raise TargetError(
                "its positions are ways of the handle, which are not known on this machine"
                if self.axis is TargetAxis.HANDLE
                else "its positions are angles, and the handle of this machine has no angle of its own",
                where=self.text,
                remedy="give parts of the travel: 0 to 100 %",
            )

    def _place_rad(self, travel: Travel, value: float) -> float | None:
        if self.axis is TargetAxis.TRAVEL:
            return travel.at_share(value)
        return travel.at_way(value) if self.axis is TargetAxis.HANDLE else travel.at_shown(value)

    def _positions(self, travel: Travel, angle_rad: Floats) -> Floats:
        """Angles as positions of this target's axis."""
        if self.axis is TargetAxis.TRAVEL:
            return travel.shares(angle_rad)
        ways = travel.ways_m(angle_rad) if self.axis is TargetAxis.HANDLE else None
        return np.asarray(travel.shown_rad(angle_rad) if ways is None else ways)

    def position_text(self, value: float) -> str:
        """A position as a person writes it: "40 %", "31 cm", "20°"."""
        if self.axis is TargetAxis.TRAVEL:
            return f"{100.0 * value:.3g} %"
        return f"{100.0 * value:.3g} cm" if self.axis is TargetAxis.HANDLE else f"{np.degrees(value):.3g}°"


@dataclass(frozen=True)
class PlacedTarget:
    """A target on one machine's travel.

    Attributes
    ----------
    target : Target
    at_rad : ndarray, shape (n,)
        Start angle plus rotation, ascending, at which the target is asked.
    wanted, tolerance : ndarray, shape (n,)
        Newtons, or parts of the scale.
    first : int
        Index of the target's first position, which `TargetScale.FIRST` is the force at.
    travel : Travel
        On which it is placed.
    """

    target: Target
    at_rad: Floats
    wanted: Floats
    tolerance: Floats
    first: int
    travel: Travel

    def moved(self, shift_rad: float) -> PlacedTarget:
        """The same target on angles that are counted from elsewhere."""
        return replace(self, at_rad=self.at_rad + shift_rad)

    def scale_n(self, force_n: ArrayLike) -> Floats:
        """Newtons of one unit of `wanted`, shape (...,): 1, the force at the first position, or what fits best.

        A free scale is the one that keeps the greatest deviation smallest.

        Parameters
        ----------
        force_n : array_like, shape (..., n)
            Force at `at_rad`, of one or more curves.
        """
        force = np.asarray(force_n, dtype=float)
        if self.target.scale is TargetScale.NEWTONS:
            return np.ones(force.shape[:-1])
        if self.target.scale is TargetScale.FIRST:
            return np.asarray(force[..., self.first] / self.wanted[self.first])
        return self._free_scale(force)

    def deviations(self, force_n: ArrayLike) -> Floats:
        """How far a curve lies off the target in units of the tolerance, shape (..., n): met within -1 to 1.

        Parameters
        ----------
        force_n : array_like, shape (..., n)
            Force at `at_rad`, of one or more curves.

        Returns
        -------
        ndarray
            Infinite where the scale is no force above zero: such a machine resists the other way.
        """
        force = np.asarray(force_n, dtype=float)
        scale = self.scale_n(force)[..., None]
        usable = scale > 0.0
        off = (force / np.where(usable, scale, 1.0) - self.wanted) / self.tolerance
        if self.target.scale is TargetScale.FIRST:
            off[..., self.first] = 0.0
        return np.where(usable, off, np.inf)

    def met(self, force_n: ArrayLike) -> Flags:
        """Whether a curve is within the tolerance everywhere, shape (...,).

        Parameters
        ----------
        force_n : array_like, shape (..., n)
            Force at `at_rad`, of one or more curves.
        """
        force = np.asarray(force_n, dtype=float)
        if self.target.scale is TargetScale.FREE:
            least, most = self._scales(force, np.ones(force.shape[:-1]))
            return np.asarray((least <= most * (1.0 + _ROUNDING)) & (least > 0.0))
        return np.asarray(np.all(np.abs(self.deviations(force)) <= 1.0 + _ROUNDING, axis=-1))

    def least_squares_scale_n(self, force_n: ArrayLike) -> Floats:
        """A free scale that is a smooth function of the curve, for a search along derivatives, shape (...,)."""
        force = np.asarray(force_n, dtype=float)
        weight = self.wanted / self.tolerance**2
        return np.asarray(force @ weight / float(self.wanted @ weight))

    def limits_n(self, force_n: Floats) -> tuple[Floats, Floats]:
        """What is allowed for a curve of this force, in newtons: low and high, each (n,)."""
        scale = float(self.scale_n(force_n))
        half = self.tolerance.copy()
        if self.target.scale is TargetScale.FIRST:
            half[self.first] = 0.0
        return scale * (self.wanted - half), scale * (self.wanted + half)

    def _free_scale(self, force: Floats) -> Floats:
        """The scale at which the curve fits into the smallest multiple of the tolerance, by bisection."""
        # With k tolerances allowed, the scale lies between the greatest f / (w + k t) and the least f / (w - k t).
        low = np.zeros(force.shape[:-1])
        high = np.full(force.shape[:-1], float(np.min(self.wanted / self.tolerance)))
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            least, most = self._scales(force, middle)
            fits = least <= most
            low, high = np.where(fits, low, middle), np.where(fits, middle, high)
        least, most = self._scales(force, high)
        return np.asarray(np.where(np.isfinite(most), 0.5 * (least + most), least))

    def _scales(self, force: Floats, multiple: Floats) -> tuple[Floats, Floats]:
        allowed = multiple[..., None] * self.tolerance
        below = np.maximum(self.wanted - allowed, 1e-12)
        return np.max(force / (self.wanted + allowed), axis=-1), np.min(force / below, axis=-1)
