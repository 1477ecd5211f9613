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

    Only its variation is used, and only to tell the felt inertia from the squared rate; what the sensors say
    otherwise prevails.

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
