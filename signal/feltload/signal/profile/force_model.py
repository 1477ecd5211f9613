"""The fitted machine: every term of the force on the profile's angle grid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import Floats
from feltload.signal.profile.uncertainty.bands import term_values

if TYPE_CHECKING:
    from feltload.signal.alignment.solved import Solved


@dataclass(frozen=True)
class ForceModel:
    """The fitted machine on the profile's angle grid: every term as offset + slope per kilogram.

    Attributes
    ----------
    static_n, friction_n, inertia_n_per_rad_s2 : ndarray, shape (n,)
        Terms at zero load when `loads_differ`, else at the one load measured.
    speed_n_per_rad2_s2 : ndarray, shape (n,)
        Factor of the squared rate, likewise: an inertia or a handle travel that varies along the travel.
    static_n_per_kg, friction_n_per_kg, inertia_n_per_rad_s2_per_kg, speed_n_per_rad2_s2_per_kg : ndarray, shape (n,)
        Slopes with the load (zeros when only one load was measured).
    viscous_n_per_rad_s : float
        Factor of the rate.
    loads_differ : bool
        Whether two or more loads were measured, so that other loads can be predicted.
    """

    static_n: Floats
    static_n_per_kg: Floats
    friction_n: Floats
    friction_n_per_kg: Floats
    inertia_n_per_rad_s2: Floats
    inertia_n_per_rad_s2_per_kg: Floats
    speed_n_per_rad2_s2: Floats
    speed_n_per_rad2_s2_per_kg: Floats
    viscous_n_per_rad_s: float
    loads_differ: bool


def make_model(solved: Solved, q_rad: Floats) -> ForceModel:
    """Terms on the grid as offset and slope per kilogram."""
    layout, beta = solved.layout, solved.fit.smoothed.coefficients
    slices = layout.slices()
    zero = layout.relative(0.0) if layout.loads_differ else 0.0

    def by_load(middle: Floats, slope: Floats) -> tuple[Floats, Floats]:
        return middle + zero * slope, slope / layout.scale_kg

    def term(name: str, values: Floats) -> tuple[Floats, Floats]:
        middle = np.asarray(values @ beta[slices[name, False]])
        slope = values @ beta[slices[name, True]] if (name, True) in slices else np.zeros_like(middle)
        return by_load(middle, np.asarray(slope))

    static, friction, inertia = (
        term(name, term_values(layout, name, q_rad)) for name in ("static", "friction", "inertia")
    )
    bend = term("inertia", layout.bases.inertia_bend(q_rad))
    turning = term_values(layout, "squared", q_rad) @ beta[slices["squared", False]]
    rest = by_load(*(share * turning for share in layout.felt))
    return ForceModel(
        static_n=static[0],
        static_n_per_kg=static[1],
        friction_n=friction[0],
        friction_n_per_kg=friction[1],
        inertia_n_per_rad_s2=inertia[0],
        inertia_n_per_rad_s2_per_kg=inertia[1],
        speed_n_per_rad2_s2=bend[0] + rest[0],
        speed_n_per_rad2_s2_per_kg=bend[1] + rest[1],
        viscous_n_per_rad_s=float(beta[slices["viscous", False]][0]),
        loads_differ=layout.loads_differ,
    )
