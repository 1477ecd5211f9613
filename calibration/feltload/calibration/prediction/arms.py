"""Moment arms and felt mass along the travel: why a machine is heavy where it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.calibration.machine.machine import Machine
from feltload.core import Floats


@dataclass(frozen=True)
class MomentArms:
    """What the load works with, and what the hand works with.

    Attributes
    ----------
    handle_m : ndarray, shape (n,)
        The handle's travel per radian: the arm that the hand works with.
    load_m : ndarray, shape (n,)
        Rise of the load per radian: the arm that its weight works with; zero where the file carries no load.
    own_nm : ndarray, shape (n,)
        Moment of everything but the load: arm, counterweight, springs.
    felt_mass_kg : ndarray, shape (m, n)
        Mass that the hand would feel when it speeds the handle up: inertia over the squared arm of the handle.
    """

    handle_m: Floats
    load_m: Floats
    own_nm: Floats
    felt_mass_kg: Floats

    @property
    def leverage(self) -> Floats:
        """Weight felt at the handle per weight loaded, shape (n,)."""
        return np.asarray(self.load_m / self.handle_m)


def moment_arms(machine: Machine, q_rad: Floats, loads_kg: Floats, g_m_s2: float) -> MomentArms:
    """Moment arms of a machine at rotations `q_rad` (n,), and the felt mass with `loads_kg` (m,)."""
    empty, one = (machine.terms(q_rad, load, g_m_s2) for load in (0.0, 1.0))
    inertia = empty.inertia + loads_kg[:, None] * (one.inertia - empty.inertia)
    handle = empty.handle.travel
    return MomentArms(handle, (one.gradient - empty.gradient) / g_m_s2, empty.gradient, inertia / handle**2)
