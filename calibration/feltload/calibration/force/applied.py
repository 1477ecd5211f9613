"""Forces of the weights that were hung, and what is uncertain in all of them alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.acquisition import Uncertainty
from feltload.calibration.force.facts import ForceCertificateFact, ForceSource
from feltload.calibration.force.readings import Readings
from feltload.calibration.force.setup import ForceSetup
from feltload.calibration.weights.buoyancy import air_density
from feltload.calibration.weights.dead_weights import PLATE_DENSITY_KG_M3, PLATE_DENSITY_U_KG_M3, hang
from feltload.calibration.weights.gravity import Gravity, local_gravity
from feltload.core import Fact, Floats

# Plates by their stamp are within about this part of it (common practice, no source), taken as rectangular.
STAMPED_PLATE_WITHIN: Final = 0.025
STAMPED_PLATE_U_RELATIVE: Final = STAMPED_PLATE_WITHIN / 3**0.5


@dataclass(frozen=True)
class AppliedForces:
    """Applied forces and what is uncertain in all of them alike.

    Attributes
    ----------
    force_n : ndarray (n,)
    budget : list of Uncertainty
        Common to all forces.
    gravity : Gravity
    warnings : list of Fact
    """

    force_n: Floats
    budget: list[Uncertainty]
    gravity: Gravity
    warnings: list[Fact]


def applied_forces(readings: Readings, setup: ForceSetup) -> AppliedForces:
    gravity = _gravity(setup)
    warnings: list[Fact] = []
    stated = np.isfinite(readings.load_u)
    default = setup.mass_u_relative
    if default is None and not stated[readings.load > 0].all():
        default = STAMPED_PLATE_U_RELATIVE
        within = {"within_percent": 100.0 * STAMPED_PLATE_WITHIN}
        warnings.append(Fact(ForceCertificateFact.WEIGHTS_WITHOUT_U, figures=within))
    spread = np.where(stated, np.nan_to_num(readings.load_u), (default or 0.0) * readings.load)
    # Weights come off one balance or from one maker: treated as wrong together, the worse case for the scale.
    common = float(spread @ readings.load) / max(float(readings.load @ readings.load), 1e-300)
    if readings.load_is_force:
        return AppliedForces(
            readings.load,
            [Uncertainty(source=ForceSource.APPLIED_FORCE, u_relative=common)],
            gravity,
            warnings,
        )
    if setup.latitude_rad is None and setup.gravity_m_s2 is None:
        warnings.append(Fact(ForceCertificateFact.LATITUDE_NOT_STATED))
    air = air_density(setup.temperature_c, setup.pressure_hpa, setup.humidity_percent, setup.height_m)
    weights = hang(
        readings.load,
        spread,
        gravity,
        air,
        density_kg_m3=setup.density_kg_m3 or PLATE_DENSITY_KG_M3,
        u_density_kg_m3=setup.density_u_kg_m3 or PLATE_DENSITY_U_KG_M3,
        conventional=not setup.true_mass,
    )
    budget = [
        Uncertainty(source=ForceSource.WEIGHTS, u_relative=common),
        Uncertainty(source=ForceSource.GRAVITY, u_relative=weights.u_gravity_relative),
        Uncertainty(source=ForceSource.AIR_BUOYANCY, u_relative=weights.u_buoyancy_relative),
    ]
    return AppliedForces(weights.force_n, budget, gravity, warnings)


def _gravity(setup: ForceSetup) -> Gravity:
    if setup.gravity_m_s2 is not None:
        return Gravity(setup.gravity_m_s2, setup.gravity_u_m_s2 or 0.0, "stated")
    return local_gravity(setup.latitude_rad, setup.height_m)
