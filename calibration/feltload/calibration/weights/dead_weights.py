"""Newtons from hung masses: gravity, buoyancy and what is common to all of them.

The standard uncertainty of a hung force splits in two. What each weight has for itself (its own stated
uncertainty) scatters from step to step; gravity, air and the calibration of the balance shift every step
alike and act as an uncertain scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.weights.buoyancy import AirDensity, buoyancy_factor
from feltload.calibration.weights.gravity import Gravity
from feltload.core import Floats

# Cast iron and steel: OIML R 111-1:2004, table B.7 gives 7300(200) and 7800(100), from memory. The middle and its
# uncertainty: common practice, no source.
PLATE_DENSITY_KG_M3: Final = 7400.0
PLATE_DENSITY_U_KG_M3: Final = 300.0


@dataclass(frozen=True)
class DeadWeights:
    """Forces of hung masses.

    Attributes
    ----------
    force_n : ndarray (n,)
        Force of each load.
    u_own_n : ndarray (n,)
        Standard uncertainty of each load by itself, from the uncertainty stated for its mass.
    u_gravity_relative, u_buoyancy_relative : float
        Relative standard uncertainties common to all loads.
    """

    force_n: Floats
    u_own_n: Floats
    u_gravity_relative: float
    u_buoyancy_relative: float


def hang(
    mass_kg: Floats,
    u_mass_kg: Floats,
    gravity: Gravity,
    air: AirDensity,
    *,
    density_kg_m3: float = PLATE_DENSITY_KG_M3,
    u_density_kg_m3: float = PLATE_DENSITY_U_KG_M3,
    conventional: bool = True,
) -> DeadWeights:
    """Forces of hung masses in local gravity and air.

    Parameters
    ----------
    mass_kg, u_mass_kg : ndarray (n,)
        Mass of each load and its standard uncertainty.
    gravity : Gravity
        Local gravity.
    air : AirDensity
        Air around the weights.
    density_kg_m3, u_density_kg_m3 : float
        Density of the weights.
    conventional : bool
        The masses are conventional masses (OIML D 28), the usual case.
    """
    factor = buoyancy_factor(air.value, density_kg_m3, conventional=conventional)
    by_air = buoyancy_factor(air.value + air.u, density_kg_m3, conventional=conventional) - factor
    by_density = (
        buoyancy_factor(air.value, density_kg_m3 + u_density_kg_m3, conventional=conventional) - factor
    )
    per_kg = gravity.value * factor
    return DeadWeights(
        force_n=np.asarray(mass_kg, dtype=float) * per_kg,
        u_own_n=np.asarray(u_mass_kg, dtype=float) * per_kg,
        u_gravity_relative=gravity.u / gravity.value,
        u_buoyancy_relative=float(np.hypot(by_air, by_density)) / factor,
    )
