"""Friction that grows with the load apart from friction that does not: the line through the measured loads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats
from feltload.signal.profile.friction.band import FrictionBand

PARTED_SHARE = 0.25
"""The parts are separate when the band of what does not grow is within this share of the friction (our convention)."""


@dataclass(frozen=True)
class FrictionByLoad:
    """Friction of one machine as ``steady + load * per_kg``, averaged over the travel.

    Attributes
    ----------
    loads_kg : ndarray, shape (m,)
        Loads measured.
    mean_n : float
        Friction at the heaviest of them.
    steady_n, steady_u95_n : float
        What is there whatever the load, and the half-width of its 95 % band; NaN with one load.
    per_kg_n, per_kg_u95_n : float
        What every kilogram adds, likewise.
    """

    loads_kg: Floats
    mean_n: float
    steady_n: float = float("nan")
    steady_u95_n: float = float("nan")
    per_kg_n: float = float("nan")
    per_kg_u95_n: float = float("nan")

    @property
    def parted(self) -> bool:
        """Whether the loads separate the two parts."""
        return bool(self.steady_u95_n <= PARTED_SHARE * abs(self.mean_n))

    @property
    def grows(self) -> bool:
        """Whether friction grows with the load by more than its band."""
        return self.parted and self.per_kg_n > self.per_kg_u95_n


def friction_by_load(loads_kg: Floats, friction_n: Floats, band: FrictionBand | None) -> FrictionByLoad:
    """Both parts of the friction, as far as the loads separate them.

    Parameters
    ----------
    loads_kg : ndarray, shape (m,)
    friction_n : ndarray, shape (m, n)
        Friction of every load along the travel.
    band : FrictionBand, optional
        How well it is known; nothing is known without it.

    Notes
    -----
    What the loads have in common (lag, viscous part) goes into the first part and not the second: both follow from the
    joint covariance of all loads.
    """
    most = friction_n[int(np.argmax(loads_kg))]
    heaviest = float(np.nanmean(most)) if np.any(np.isfinite(most)) else float("nan")
    if loads_kg.size < 2 or band is None or not np.all(np.isfinite(friction_n)):
        return FrictionByLoad(loads_kg, heaviest)
    line = np.linalg.pinv(np.stack([np.ones_like(loads_kg), loads_kg], axis=1))
    means = friction_n.mean(axis=1)
    steady_u, per_kg_u = (
        float(np.sqrt(max(float(np.mean(band.combined(weights))), 0.0))) for weights in line
    )
    steady, per_kg = (float(value) for value in line @ means)
    return FrictionByLoad(
        loads_kg, heaviest, steady, band.coverage * steady_u, per_kg, band.coverage * per_kg_u
    )
