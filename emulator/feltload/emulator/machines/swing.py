"""Free swing of an arm with its stops taken away and nobody's hands on it."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from feltload.core import Floats, InputError
from feltload.emulator.machines.dynamics import MachineDynamics


def hanging_position_rad(machine: MachineDynamics, load_kg: float, g_m_s2: float) -> float:
    """Rotation from the start stop at which the arm hangs in balance.

    Raises
    ------
    InputError
        If it has no stable balance within half a turn.
    """
    grid = np.linspace(-np.pi, np.pi, 721)
    slope = machine.potential_slope_n_m(grid, load_kg, g_m_s2)
    rising = np.flatnonzero((slope[:-1] < 0.0) & (slope[1:] >= 0.0))
    if rising.size == 0:
        raise InputError(
            "this machine does not hang free", remedy="choose a plain lever on a horizontal hinge"
        )

    def at(q_rad: float) -> float:
        return float(machine.potential_slope_n_m(np.array([q_rad]), load_kg, g_m_s2)[0])

    nearest = rising[np.argmin(np.abs(grid[rising]))]
    return float(brentq(at, grid[nearest], grid[nearest + 1], xtol=1e-13))


def free_swing(
    machine: MachineDynamics, load_kg: float, g_m_s2: float, time_s: Floats, amplitude_rad: float
) -> tuple[Floats, Floats, Floats]:
    """Position, rate and acceleration of the arm let go `amplitude_rad` beyond its balance, each (n,)."""

    def accel(q: Floats, rate: Floats) -> Floats:
        rub = machine.friction.force_n(q, rate, load_kg) * machine.handle_travel_m(q)
        moment = machine.potential_slope_n_m(q, load_kg, g_m_s2)
        moment = moment + 0.5 * machine.inertia_slope_kg_m2(q, load_kg) * rate**2 + rub
        return -moment / machine.inertia_kg_m2(q, load_kg)

    def change(_time: float, state: Floats) -> list[float]:
        return [float(state[1]), float(accel(state[:1], state[1:])[0])]

    start = [hanging_position_rad(machine, load_kg, g_m_s2) + amplitude_rad, 0.0]
    span = (float(time_s[0]), float(time_s[-1]))
    path = solve_ivp(change, span, start, method="LSODA", t_eval=time_s, rtol=1e-9, atol=1e-11)
    q, rate = path.y
    return q, rate, accel(q, rate)
