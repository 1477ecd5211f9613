"""Targets where they lie on one machine's travel, and how far a curve is from them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from feltload.calibration.errors import TargetError
from feltload.calibration.target.target import Target, TargetAxis, TargetScale
from feltload.core import Flags, Floats
from feltload.signal import AngleKind, Travel

_END_SLACK: Final = 0.005
"""A position this part of the travel outside it is its end."""
_BISECTIONS: Final = 30
_ROUNDING: Final = 1e-9
_SAME_PLACE: Final = 1e-6
"""Part of the way between two positions within which a place is one of them."""


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
    lower, upper : ndarray of bool, shape (n,)
        Whether there is a lower and an upper limit.
    """

    target: Target
    at_rad: Floats
    wanted: Floats
    tolerance: Floats
    first: int
    travel: Travel
    lower: Flags
    upper: Flags

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

        On a side without a limit it lies off nowhere.

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
        off = np.clip(off, np.where(self.lower, -np.inf, 0.0), np.where(self.upper, np.inf, 0.0))
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
        """What is allowed for a curve of this force, in newtons: low and high, each (n,); infinite without a limit."""
        scale = float(self.scale_n(force_n))
        half = self.tolerance.copy()
        if self.target.scale is TargetScale.FIRST:
            half[self.first] = 0.0
        low, high = scale * (self.wanted - half), scale * (self.wanted + half)
        return np.where(self.lower, low, -np.inf), np.where(self.upper, high, np.inf)

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


def place_target(target: Target, travel: Travel, angle_rad: Floats) -> PlacedTarget:
    """A target where it lies on a machine's travel.

    Parameters
    ----------
    target : Target
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
    places = _places_rad(target, travel)
    if target.between and places.size > 1:
        low, high = np.min(places), np.max(places)
        apart = np.abs(angle_rad[:, None] - places).min(axis=1) > _SAME_PLACE * (high - low)
        inner = angle_rad[(angle_rad > low) & (angle_rad < high) & apart]
        at_rad = np.unique(np.concatenate([places, inner]))
    else:
        at_rad = np.sort(places)
    first = int(np.searchsorted(at_rad, places[0]))
    position = _positions(target, travel, at_rad)
    wanted, tolerance = (
        np.interp(position, target.at, values) for values in (target.wanted, target.tolerance)
    )
    lower, upper = (_limited(target, position, side) for side in (target.lower, target.upper))
    return PlacedTarget(target, at_rad, wanted, tolerance, min(first, at_rad.size - 1), travel, lower, upper)


def _limited(target: Target, position: Floats, side: Flags) -> Flags:
    """Whether a side is limited at positions: at rows that limit it, and between two of them."""
    open_at = 1.0 - np.broadcast_to(side, target.at.shape)
    return np.asarray(np.interp(position, target.at, open_at) < _SAME_PLACE)


def _places_rad(target: Target, travel: Travel) -> Floats:
    """Start angle plus rotation at each position, as they are listed."""
    _require_axis(target, travel)
    places = [_place_rad(target, travel, float(value)) for value in target.at]
    low, high = travel.ends_rad
    slack = _END_SLACK * (high - low)
    for value, place in zip(target.at, places, strict=True):
        if place is None or not low - slack <= place <= high + slack:
            ends = _positions(target, travel, np.array([low, high]))
            raise TargetError(
                f"its position {target.position_text(float(value))} lies outside the travel, which is "
                f"{target.position_text(float(ends[0]))} to {target.position_text(float(ends[1]))}",
                where=target.text,
                remedy="keep to the travel, or use parts of it: 0 to 100 %",
            )
    return np.asarray(np.clip(np.array(places, dtype=float), low, high))


def _require_axis(target: Target, travel: Travel) -> None:
    lacks = {
        TargetAxis.HANDLE: travel.path_m is None,
        TargetAxis.ANGLE: travel.scale.angle is AngleKind.ROTATION,
        TargetAxis.TRAVEL: False,
    }
    if lacks[target.axis]:
        raise TargetError(
            "its positions are ways of the handle, which are not known on this machine"
            if target.axis is TargetAxis.HANDLE
            else "its positions are angles, and the handle of this machine has no angle of its own",
            where=target.text,
            remedy="give parts of the travel: 0 to 100 %",
        )


def _place_rad(target: Target, travel: Travel, value: float) -> float | None:
    if target.axis is TargetAxis.TRAVEL:
        return travel.at_share(value)
    return travel.at_way(value) if target.axis is TargetAxis.HANDLE else travel.at_shown(value)


def _positions(target: Target, travel: Travel, angle_rad: Floats) -> Floats:
    """Angles as positions of this target's axis."""
    if target.axis is TargetAxis.TRAVEL:
        return travel.shares(angle_rad)
    ways = travel.ways_m(angle_rad) if target.axis is TargetAxis.HANDLE else None
    return np.asarray(travel.shown_rad(angle_rad) if ways is None else ways)
