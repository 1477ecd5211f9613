"""A joint that is not rigid: play and flex between the handle's section and the loaded arm.

Two bodies. The handle's section turns by p, the loaded arm by q; the gap is g = p - q, between -b and 0 without
contact. Raised, the section presses at g > 0; it rests at g = -b::

    moment = k g + c g'          for g > 0, never below zero where there is play
    moment = k (g + b) + c g'    for g < -b, never above zero
    M q'' + M' q'^2 / 2 + V'(q) + friction(q, q') h = moment + stop(q, q')

k is given by the first mode: the loaded arm against a handle that is held.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, pi, tanh
from typing import Literal

import numpy as np
from scipy.integrate import solve_ivp

from feltload.core import Floats
from feltload.emulator.machines.dynamics import MachineDynamics

STOP_HZ, STOP_DAMPING = 25.0, 0.3
"""The arm on its rubber stop, as an oscillator."""

_TABLE = 16001
_BEYOND_RAD = 0.15


@dataclass(frozen=True)
class Joint:
    """Where a machine gives, between the handle's section and the loaded arm.

    Parameters
    ----------
    play_rad : float
        Total width b of the gap, rad; 0 for none.
    mode_hz : float
        First mode: the loaded arm, in the middle of its travel, against a handle that is held.
    damping : float
        Damping ratio of that mode.
    sensor : {"arm", "handle"}
        Which side of the joint carries the inertial sensor.
    section_kg : float
        Mass of the handle's section, at the handle; its weight is balanced.
    """

    play_rad: float = 0.0
    mode_hz: float = 40.0
    damping: float = 0.03
    sensor: Literal["arm", "handle"] = "arm"
    section_kg: float = 0.4

    def constants(self, inertia_kg_m2: float) -> tuple[float, float]:
        """Stiffness, N m/rad, and damping, N m s/rad, for this inertia of the loaded arm."""
        turn = 2.0 * pi * self.mode_hz
        return inertia_kg_m2 * turn**2, 2.0 * self.damping * inertia_kg_m2 * turn

    def moment_n_m(self, gap_rad: float, gap_rate_rad_s: float, constants: tuple[float, float]) -> float:
        """Moment that the handle's section puts on the arm."""
        stiffness, damping = constants
        if self.play_rad <= 0.0:
            return stiffness * gap_rad + damping * gap_rate_rad_s
        if gap_rad > 0.0:
            return max(0.0, stiffness * gap_rad + damping * gap_rate_rad_s)
        if gap_rad < -self.play_rad:
            return min(0.0, stiffness * (gap_rad + self.play_rad) + damping * gap_rate_rad_s)
        return 0.0


@dataclass(frozen=True)
class ArmMotion:
    """What the loaded arm does behind the joint, and the moment through it; each (n,)."""

    q_rad: Floats
    rate_rad_s: Floats
    accel_rad_s2: Floats
    moment_n_m: Floats


def follow(
    machine: MachineDynamics,
    joint: Joint,
    time_s: Floats,
    section_rad: Floats,
    section_rate_rad_s: Floats,
    load_kg: float,
    g_m_s2: float,
) -> ArmMotion:
    """The loaded arm driven through the joint by a handle that is moved as given, from rest on the start stop.

    Velocity Verlet on the even grid of `time_s`; `section_rad` is p, which starts at ``-play_rad``.
    """
    step = float(time_s[1] - time_s[0])
    away = _arm_accel(machine, load_kg, g_m_s2)
    constants = joint.constants(_middle_inertia(machine, load_kg))
    p, p_rate = section_rad.tolist(), section_rate_rad_s.tolist()
    q, rate, accel = 0.0, 0.0, 0.0
    out = np.zeros((4, time_s.size))
    rows = [[0.0] * time_s.size for _ in range(4)]
    for k in range(1, time_s.size):
        half = rate + 0.5 * step * accel
        q += step * half
        guess = rate + step * accel
        moment = joint.moment_n_m(p[k] - q, p_rate[k] - guess, constants)
        accel = away(q, guess, moment)
        rate = half + 0.5 * step * accel
        rows[0][k], rows[1][k], rows[2][k], rows[3][k] = q, rate, accel, moment
    out[:] = rows
    return ArmMotion(*out)


def ring(
    joint: Joint,
    section_kg_m2: float,
    arm_kg_m2: float,
    time_s: Floats,
    start: tuple[float, float, float, float],
    push_n_m: Callable[[float], float] = lambda _time: 0.0,
    stop_hz: float = 0.0,
) -> Floats:
    """Both bodies without a hand: section's and arm's rotation and rate (p, p', q, q'), shape (4, n).

    Parameters
    ----------
    joint : Joint
    section_kg_m2, arm_kg_m2 : float
    time_s : ndarray, shape (n,)
    start : (p, p', q, q')
    push_n_m : callable
        Moment on the section at a time.
    stop_hz : float
        The arm's rubber stop, which holds it at q = 0; 0 for none.
    """
    constants = joint.constants(arm_kg_m2)
    turn = 2.0 * pi * stop_hz

    def change(time: float, state: Floats) -> list[float]:
        p, p_rate, q, q_rate = (float(value) for value in state)
        moment = joint.moment_n_m(p - q, p_rate - q_rate, constants)
        held = -(turn**2) * q - 2.0 * STOP_DAMPING * turn * q_rate
        return [p_rate, (push_n_m(time) - moment) / section_kg_m2, q_rate, moment / arm_kg_m2 + held]

    span = (float(time_s[0]), float(time_s[-1]))
    path = solve_ivp(change, span, start, t_eval=time_s, rtol=1e-9, atol=1e-12, max_step=2e-3)
    return np.asarray(path.y)


def _middle_inertia(machine: MachineDynamics, load_kg: float) -> float:
    return float(machine.inertia_kg_m2(np.array([0.5 * machine.travel_rad]), load_kg)[0])


def _arm_accel(
    machine: MachineDynamics, load_kg: float, g_m_s2: float
) -> Callable[[float, float, float], float]:
    """q'' of the arm at rotation, rate and moment from the joint; the machine's functions as tables."""
    low, high = -_BEYOND_RAD, machine.travel_rad + _BEYOND_RAD
    # Beyond the stops a linkage need not close: the machine is that at its stops there.
    q = np.linspace(low, high, _TABLE)
    inside = np.clip(q, -0.02, machine.travel_rad + 0.02)
    travel, rub = machine.handle_travel_m(inside), machine.friction
    slopes = machine.potential_slope_n_m(inside, load_kg, g_m_s2)
    table = np.stack(
        [
            slopes,
            machine.inertia_kg_m2(inside, load_kg),
            0.5 * machine.inertia_slope_kg_m2(inside, load_kg),
            rub.dry_n(inside, load_kg) * travel,
            rub.viscous_n_per_rad_s * travel,
        ],
        axis=1,
    ).tolist()
    per_rad = (_TABLE - 1) / (high - low)
    at_rest = float(np.interp(0.0, q, slopes))
    inertia = _middle_inertia(machine, load_kg)
    turn = 2.0 * pi * STOP_HZ
    stiff, damped = inertia * turn**2, 2.0 * STOP_DAMPING * inertia * turn
    bristle, sticking, fades = rub.breakaway_rate_rad_s, rub.stribeck_share, rub.stribeck_rate_rad_s
    # A machine that pulls itself off the stop is held there by the hands alone.
    free = max(at_rest, 0.0) / stiff

    def accel(q_rad: float, rate: float, moment: float) -> float:
        slope, mass, bend, dry, viscous = table[min(max(round((q_rad - low) * per_rad), 0), _TABLE - 1)]
        if sticking:
            dry *= 1.0 + sticking * exp(-((rate / fades) ** 2))
        stop = max(0.0, stiff * (free - q_rad) - damped * rate) if q_rad < free else 0.0
        away = moment + stop - slope - bend * rate * rate - dry * tanh(rate / bristle) - viscous * rate
        return float(away / mass)

    return accel
