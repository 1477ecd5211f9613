"""Friction of an emulated machine, as a force at the handle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats


@dataclass(frozen=True)
class TightSpot:
    """A place along the travel that rubs more than the rest: a dent, dirt, a bearing that binds.

    Parameters
    ----------
    at_rad : float
        Rotation from the start stop at its middle.
    extra_n : float
        Dry friction that it adds there, whatever the load, N.
    width_rad : float
        Standard deviation of its bell shape.
    """

    at_rad: float
    extra_n: float
    width_rad: float

    def dry_n(self, q_rad: Floats) -> Floats:
        """What it adds along the travel, (n,) N."""
        away = (np.asarray(q_rad, dtype=float) - self.at_rad) / self.width_rad
        return np.asarray(self.extra_n * np.exp(-0.5 * away**2))


@dataclass(frozen=True)
class Friction:
    """Dry and viscous friction felt at the handle.

    Parameters
    ----------
    coulomb_n : float
        Dry friction at no load, N.
    per_load_n_per_kg : float
        Dry friction added per kilogram loaded, N/kg (bearing under weight).
    position_share : float
        Amplitude of the variation along the travel, as a share of the dry friction.
    position_cycles : float
        How many cycles of that variation fit into one radian.
    viscous_n_per_rad_s : float
        Force per joint rate, N/(rad/s).
    stribeck_share : float
        Extra dry friction at very low rate, as a share.
    stribeck_rate_rad_s : float
        Rate at which the extra has fallen to 1/e.
    breakaway_rate_rad_s : float
        Width of the sign change at standstill (bristles before slip).
    spots : tuple of TightSpot
        Places that rub more.
    """

    coulomb_n: float = 6.0
    per_load_n_per_kg: float = 0.12
    position_share: float = 0.0
    position_cycles: float = 0.5
    viscous_n_per_rad_s: float = 2.0
    stribeck_share: float = 0.0
    stribeck_rate_rad_s: float = 0.05
    breakaway_rate_rad_s: float = 0.004
    spots: tuple[TightSpot, ...] = ()

    def dry_n(self, q_rad: Floats, load_kg: float) -> Floats:
        """Magnitude of sliding dry friction, (n,) N."""
        level = self.coulomb_n + self.per_load_n_per_kg * load_kg
        wave = np.sin(2.0 * np.pi * self.position_cycles * np.asarray(q_rad, dtype=float))
        smooth = level * (1.0 + self.position_share * wave)
        return np.asarray(smooth + sum(spot.dry_n(q_rad) for spot in self.spots))

    def force_n(self, q_rad: Floats, rate_rad_s: Floats, load_kg: float) -> Floats:
        """Friction that the handle feels at this motion, (n,) N; positive while raising."""
        dry = self.dry_n(q_rad, load_kg)
        if self.stribeck_share:
            dry = dry * (1.0 + self.stribeck_share * np.exp(-((rate_rad_s / self.stribeck_rate_rad_s) ** 2)))
        direction = np.tanh(rate_rad_s / self.breakaway_rate_rad_s)
        return dry * direction + self.viscous_n_per_rad_s * rate_rad_s
