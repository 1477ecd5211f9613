"""How far the handle goes along its line of pull per radian, as the machine's description states it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.interpolate import CubicSpline

from feltload.core import Floats
from feltload.signal.errors import ProfileError


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
    """

    q_rad: Floats
    travel_m: Floats

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
    def _share(self) -> CubicSpline:
        travel = np.asarray(self.travel_m, float)
        return CubicSpline(self.q_rad, travel / np.mean(travel))

    def share(self, q_rad: Floats) -> Floats:
        """Travel as a share of its mean, shape (n,); beyond the ends the last value holds."""
        return np.asarray(self._share(np.clip(q_rad, self.q_rad[0], self.q_rad[-1])))

    def path_m(self, q_rad: Floats) -> Floats | None:
        """Way of the handle from the first of `q_rad`, shape (n,); None where it is not given over all of them."""
        q = np.asarray(q_rad, float)
        slack = 1e-9 + 1e-6 * float(self.q_rad[-1] - self.q_rad[0])
        if np.min(q) < self.q_rad[0] - slack or np.max(q) > self.q_rad[-1] + slack:
            return None
        way = CubicSpline(self.q_rad, np.abs(self.travel_m)).antiderivative()
        return np.asarray(way(q) - way(q[0]))
