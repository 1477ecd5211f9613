"""What a planned path of the hands makes of the machine: rigid, or through a joint that gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import signal as dsp

from feltload.core import Floats
from feltload.emulator.machines.dynamics import required_pull_n
from feltload.emulator.machines.joint import STOP_HZ, ArmMotion, Joint, follow, ring
from feltload.emulator.scenarios import Scenario

# The rigid arm on its rubber stop, as an oscillator that a knock sets ringing.
_STOP_HZ, _STOP_DAMPING = 16.0, 0.25
_KNOCK_S, _KNOCK_N = 0.010, 140.0
_RING_S = 0.8


@dataclass(frozen=True)
class Driven:
    """Motion of the part that carries the sensor, and forces at the handle; each (n,).

    Attributes
    ----------
    q_rad, rate_rad_s, accel_rad_s2 : ndarray
        Of the sensor's part, from its rest.
    arm_rad : ndarray
        Rotation of the loaded arm from the start stop.
    required_n : ndarray
        What the machine needs at this motion.
    knock_n : ndarray
        Deliberate knocks on the handle of the resting arm.
    """

    q_rad: Floats
    rate_rad_s: Floats
    accel_rad_s2: Floats
    arm_rad: Floats
    required_n: Floats
    knock_n: Floats


def driven(
    scene: Scenario, time_s: Floats, path: tuple[Floats, Floats, Floats], knocks_s: Sequence[float]
) -> Driven:
    """Move the machine of a scene along the path of its hands.

    Parameters
    ----------
    scene : Scenario
    time_s : ndarray, shape (n,)
    path : (q, rate, accel) of the handle, each (n,), from rest
    knocks_s : sequence of float
        Deliberate knocks, hands off.
    """
    if scene.joint is None:
        return _rigid(scene, time_s, path, knocks_s)
    return _through(scene.joint, scene, time_s, path, knocks_s)


def _rigid(
    scene: Scenario, time_s: Floats, path: tuple[Floats, Floats, Floats], knocks_s: Sequence[float]
) -> Driven:
    q, rate, accel = path
    knock_n = np.zeros_like(time_s)
    for instant in knocks_s:
        pulse, moved = _knock(scene, time_s, instant)
        knock_n += pulse
        q, rate, accel = q + moved[0], rate + moved[1], accel + moved[2]
    required = required_pull_n(scene.machine, q, rate, accel, scene.load_kg, scene.gravity_m_s2)
    return Driven(q, rate, accel, q, required, knock_n)


def _pulse_n(time_s: Floats, instant: float) -> Floats:
    since = time_s - instant
    return np.where((since >= 0.0) & (since < _KNOCK_S), _KNOCK_N * np.sin(np.pi * since / _KNOCK_S), 0.0)


def _knock(scene: Scenario, time_s: Floats, instant: float) -> tuple[Floats, tuple[Floats, ...]]:
    """A short blow on the handle of the resting rigid arm, and how the arm rings on its stop."""
    pulse = _pulse_n(time_s, instant)
    still = np.zeros(1)
    travel_m = float(scene.machine.handle_travel_m(still)[0])
    push = pulse * travel_m / float(scene.machine.inertia_kg_m2(still, scene.load_kg)[0])
    turn = 2.0 * np.pi * _STOP_HZ
    system = (
        np.array([[0.0, 1.0], [-(turn**2), -2.0 * _STOP_DAMPING * turn]]),
        np.array([[0.0], [1.0]]),
        np.eye(2),
        np.zeros((2, 1)),
    )
    _, out, _ = dsp.lsim(system, push, time_s)
    accel = push - turn**2 * out[:, 0] - 2.0 * _STOP_DAMPING * turn * out[:, 1]
    return pulse, (out[:, 0], out[:, 1], accel)


def _through(
    joint: Joint,
    scene: Scenario,
    time_s: Floats,
    path: tuple[Floats, Floats, Floats],
    knocks_s: Sequence[float],
) -> Driven:
    # The section rests at the lower edge of the gap.
    section = path[0] - joint.play_rad
    machine, load, gravity = scene.machine, scene.load_kg, scene.gravity_m_s2
    arm = follow(machine, joint, time_s, section, path[1], load, gravity)
    radius = machine.handle_travel_m(arm.q_rad)
    required = arm.moment_n_m / radius + joint.section_kg * radius * path[2]
    moved = path if joint.sensor == "handle" else (arm.q_rad, arm.rate_rad_s, arm.accel_rad_s2)
    knock_n = np.zeros_like(time_s)
    for instant in knocks_s:
        knock_n += _pulse_n(time_s, instant)
        q, rate, accel = _rung(joint, scene, arm, time_s, instant)
        moved = (moved[0] + q, moved[1] + rate, moved[2] + accel)
    return Driven(*moved, arm.q_rad, required, knock_n)


def _rung(
    joint: Joint, scene: Scenario, arm: ArmMotion, time_s: Floats, instant: float
) -> tuple[Floats, Floats, Floats]:
    """How a knock moves the sensor's part, hands off and the arm on its stop, each (n,)."""
    first, last = np.searchsorted(time_s, (instant, instant + _RING_S))
    span = time_s[first:last]
    still = np.zeros(1)
    travel_m = float(scene.machine.handle_travel_m(still)[0])
    inertia = float(scene.machine.inertia_kg_m2(still, scene.load_kg)[0])
    section = joint.section_kg * travel_m**2
    rest = -joint.play_rad

    def push(time: float) -> float:
        return float(_pulse_n(np.array([time]), instant)[0]) * travel_m

    state = ring(joint, section, inertia, span, (rest, 0.0, 0.0, 0.0), push, STOP_HZ)
    place, rate = (state[0] - rest, state[1]) if joint.sensor == "handle" else (state[2], state[3])
    fade = np.cos(0.5 * np.pi * (span - instant) / _RING_S) ** 2
    out = np.zeros((3, arm.q_rad.size))
    out[:, first:last] = place * fade, rate * fade, np.gradient(rate * fade, span)
    return out[0], out[1], out[2]
