"""How far the handle goes along its line of pull per radian, as the machine's description states it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np
import scipy

from feltload.core import Floats
from feltload.signal.errors import ProfileError


class AngleKind(StrEnum):
    """What start angle plus rotation is on a machine."""

    LEVER = "lever-angle"
    """Elevation of the line from pivot to handle: the sensor turns with it."""

    HANDLE_LINE = "handle-line"
    """The handle rides on another link, whose own line is given beside the sensor's rotation."""

    ROTATION = "rotation"
    """No angle of the handle's at all: the rotation of a drum, a wheel or a crank."""


@dataclass(frozen=True)
class HandleTravel:
    """Handle travel along the line of pull per radian of rotation.

    Its variation tells the felt inertia from the squared rate, where what the sensors say otherwise prevails; its size
    says positions in metres of handle travel.

    Attributes
    ----------
    q_rad : ndarray, shape (k,)
        Rotation from the start stop, ascending, at least four values.
    travel_m : ndarray, shape (k,)
        R = ds/dq there, all of one sign.
    spread_m : ndarray, shape (p, k), optional
        What one standard uncertainty of each dimension adds to `travel_m`.
    line_rad : ndarray, shape (k,), optional
        Elevation of the handle's own line, where it does not turn with the sensor.
    """

    q_rad: Floats
    travel_m: Floats
    spread_m: Floats | None = None
    line_rad: Floats | None = None

    def __post_init__(self) -> None:
        q, travel = np.asarray(self.q_rad, float), np.asarray(self.travel_m, float)
        usable = q.ndim == 1 and q.size >= 4 and q.shape == travel.shape and bool(np.all(np.diff(q) > 0))
        if not usable or not np.all(np.isfinite(travel)) or np.min(travel) * np.max(travel) <= 0:
            raise ProfileError(
                "the handle's travel must be given at four or more ascending positions, without a dead point",
                where="reference",
                remedy="leave it out when it is not known",
            )

    @cached_property
    def _share(self) -> scipy.interpolate.CubicSpline:
        travel = np.asarray(self.travel_m, float)
        return scipy.interpolate.CubicSpline(self.q_rad, travel / np.mean(travel))

    @cached_property
    def _path(self) -> scipy.interpolate.CubicSpline:
        return scipy.interpolate.CubicSpline(self.q_rad, np.abs(self.travel_m)).antiderivative()

    def share(self, q_rad: Floats) -> Floats:
        """Travel as a share of its mean, shape (n,); beyond the ends the last value holds."""
        return np.asarray(self._share(np.clip(q_rad, self.q_rad[0], self.q_rad[-1])))

    def covers(self, q_rad: Floats) -> bool:
        """Whether it is given over all of these rotations."""
        slack = 1e-9 + 1e-6 * float(self.q_rad[-1] - self.q_rad[0])
        return bool(np.min(q_rad) >= self.q_rad[0] - slack and np.max(q_rad) <= self.q_rad[-1] + slack)

    def path_m(self, q_rad: Floats) -> Floats | None:
        """Way of the handle from the start stop, shape (n,); None where it is not given over all of them."""
        q = np.asarray(q_rad, float)
        return (
            np.asarray(self._path(q) - self._path(0.0))
            if self.covers(q) and self.covers(np.zeros(1))
            else None
        )

    def u_path_m(self, q_rad: Floats) -> Floats:
        """Standard uncertainty of the way from the start stop, shape (n,), by the dimensions alone."""
        q = np.asarray(q_rad, float)
        if self.spread_m is None or not len(self.spread_m):
            return np.zeros(q.size)
        grown = scipy.interpolate.CubicSpline(
            self.q_rad, np.atleast_2d(self.spread_m), axis=1
        ).antiderivative()
        return np.asarray(np.sqrt(np.sum((grown(q) - grown(np.zeros(1))) ** 2, axis=0)))

    def line_at(self, q_rad: Floats) -> Floats | None:
        """Elevation of the handle's own line, shape (n,); None where it turns with the sensor, or there is none."""
        if self.line_rad is None:
            return None
        return np.asarray(scipy.interpolate.CubicSpline(self.q_rad, self.line_rad)(q_rad))
