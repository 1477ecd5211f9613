"""True motion and force of an emulated session on a fine time grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.random import Generator

from feltload.core import Floats, Indices
from feltload.emulator.driven import driven
from feltload.emulator.machines.dynamics import required_pull_n
from feltload.emulator.machines.swing import free_swing
from feltload.emulator.people.partner import Partner
from feltload.emulator.people.person import Plan, plan_session
from feltload.emulator.scenarios import Scenario

_KNOCK_FELT = 0.2


@dataclass(frozen=True)
class TrueMotion:
    """What really happened.

    Attributes
    ----------
    table : DataFrame
        `t_s, q_rad, rate_rad_s, accel_rad_s2, arm_rad, handle_force_n, required_force_n, partner_force_n, phase,
        repetition`; q is that of the part that carries the sensor, arm that of the loaded arm (the same on a rigid
        machine); required is what the machine needs at this motion, handle what the hands gave.
    wobble_rad : (n,) array
        Angle between pull and line of pull.
    knocks_s : tuple of float
        Instants of deliberate knocks on the handle.
    """

    table: pd.DataFrame
    wobble_rad: Floats
    knocks_s: tuple[float, ...]


def true_motion(scene: Scenario, grid_hz: float, rng: Generator) -> TrueMotion:
    """Throw the dice for one session and work out its motion and forces."""
    if scene.person.swing_deg:
        return _swinging(scene, grid_hz)
    travel = scene.machine.travel_rad
    plan = plan_session(scene.person, travel, rng)
    time = np.arange(int(plan.duration_s * grid_hz) + 1) / grid_hz
    moved = driven(scene, time, _unsteady(scene, plan, time, rng), plan.handle_knocks_s)
    q, rate, accel, required = moved.q_rad, moved.rate_rad_s, moved.accel_rad_s2, moved.required_n
    borne = np.clip(plan.borne.evaluate(time)[0], 0.0, 1.0)
    effort = plan.push.evaluate(time)[0] * scene.capacity.force_n(q / travel)
    partner = np.zeros_like(time) if scene.partner is None else _partner_n(scene.partner, q / travel, rate)
    partner = partner * (1.0 - borne)
    kinds, numbers = _labels(plan, time)
    # In a knock the stop throws the arm back; the hands feel a part of it.
    inertia = scene.machine.inertia_kg_m2(q, scene.load_kg) / scene.machine.handle_travel_m(q)
    hit = (kinds == "knock") & (scene.joint is None)
    stopped = np.where(hit, (1.0 - _KNOCK_FELT) * inertia * accel, 0.0)
    handle = (1.0 - borne) * (required - stopped) - partner + effort + moved.knock_n
    table = pd.DataFrame(
        {
            "t_s": time,
            "q_rad": q,
            "rate_rad_s": rate,
            "accel_rad_s2": accel,
            "arm_rad": moved.arm_rad,
            "handle_force_n": handle,
            "required_force_n": required,
            "partner_force_n": partner,
            "phase": kinds,
            "repetition": numbers,
        }
    )
    return TrueMotion(table, _wobble(scene, time, rng), plan.handle_knocks_s)


def _swinging(scene: Scenario, grid_hz: float) -> TrueMotion:
    time = np.arange(int(scene.person.swing_s * grid_hz) + 1) / grid_hz
    amplitude = np.radians(scene.person.swing_deg)
    q, rate, accel = free_swing(scene.machine, scene.load_kg, scene.gravity_m_s2, time, amplitude)
    nothing = np.zeros_like(time)
    table = pd.DataFrame(
        {
            "t_s": time,
            "q_rad": q,
            "rate_rad_s": rate,
            "accel_rad_s2": accel,
            "arm_rad": q,
            "handle_force_n": nothing,
            "required_force_n": required_pull_n(
                scene.machine, q, rate, accel, scene.load_kg, scene.gravity_m_s2
            ),
            "partner_force_n": nothing,
            "phase": pd.Categorical(["swing"] * time.size),
            "repetition": np.zeros(time.size, dtype=np.int64),
        }
    )
    return TrueMotion(table, nothing, ())


def _unsteady(scene: Scenario, plan: Plan, time: Floats, rng: Generator) -> tuple[Floats, Floats, Floats]:
    """The planned path with tremor and sway on it; both vanish on the stop and while the arm is pinned."""
    q, rate, accel = plan.path.evaluate(time)
    tones: list[tuple[float, float]] = []
    person = scene.person
    tones += [
        (float(rng.uniform(7.0, 11.0)), person.tremor_deg * float(rng.uniform(0.4, 1.0))) for _ in range(3)
    ]
    tones += [
        (float(rng.uniform(1.0, 2.5)), person.sway_deg * float(rng.uniform(0.3, 1.0))) for _ in range(2)
    ]
    shake = [np.zeros_like(time) for _ in range(3)]
    for hertz, size_deg in tones:
        turn = 2.0 * np.pi * hertz
        phase = turn * time + float(rng.uniform(0.0, 2.0 * np.pi))
        size = np.radians(size_deg)
        sine, cosine = np.sin(phase), np.cos(phase)
        shake[0] += size * sine
        shake[1] += size * turn * cosine
        shake[2] -= size * turn**2 * sine
    # Smooth gate in q: nothing on the stop, all of it from a tenth of the travel on.
    width = 0.1 * scene.machine.travel_rad
    x = np.clip(q / width, 0.0, 1.0)
    inside = (x > 0.0) & (x < 1.0)
    gate = x**3 * (10.0 - 15.0 * x + 6.0 * x * x)
    first = np.where(inside, 30.0 * x**2 * (1.0 - x) ** 2, 0.0) / width
    second = np.where(inside, 60.0 * x * (1.0 - x) * (1.0 - 2.0 * x), 0.0) / width**2
    gate_rate, gate_accel = first * rate, first * accel + second * rate**2
    free = np.clip(plan.borne.evaluate(time)[0], 0.0, 1.0) < 0.999
    gate, gate_rate, gate_accel = gate * free, gate_rate * free, gate_accel * free
    return (
        q + gate * shake[0],
        rate + gate_rate * shake[0] + gate * shake[1],
        accel + gate_accel * shake[0] + 2.0 * gate_rate * shake[1] + gate * shake[2],
    )


def _partner_n(partner: Partner, share: Floats, rate: Floats) -> Floats:
    def ramp(distance: Floats) -> Floats:
        x = np.clip(distance, 0.0, 1.0)
        return np.asarray(x * x * (3.0 - 2.0 * x), dtype=float)

    rise = ramp((share - partner.from_share) / partner.fade)
    fall = ramp((partner.to_share - share) / partner.fade)
    upward = 0.5 * (1.0 + np.tanh(rate / 0.08))
    wanted = upward * float(partner.raising) + (1.0 - upward) * float(partner.lowering)
    return np.asarray(partner.force_n * rise * fall * wanted, dtype=float)


def _wobble(scene: Scenario, time: Floats, rng: Generator) -> Floats:
    total = np.zeros_like(time)
    for _ in range(3):
        turn = 2.0 * np.pi * float(rng.uniform(0.15, 1.2))
        total += np.sin(turn * time + float(rng.uniform(0.0, 2.0 * np.pi)))
    wobble_deg = scene.person.lean_deg + scene.person.wobble_deg * total * np.sqrt(2.0 / 3.0)
    return np.asarray(np.radians(wobble_deg), dtype=float)


def _labels(plan: Plan, time: Floats) -> tuple[pd.Categorical[str], Indices]:
    kinds = sorted({span.kind for span in plan.spans})
    codes = np.zeros(time.size, dtype=np.int8)
    numbers = np.zeros(time.size, dtype=np.int64)
    for span in plan.spans:
        start, stop = np.searchsorted(time, [span.start_s, span.end_s])
        codes[start:stop] = kinds.index(span.kind)
        numbers[start:stop] = span.repetition
    codes[-1], numbers[-1] = codes[-2], numbers[-2]
    return pd.Categorical.from_codes(codes, categories=pd.Index(kinds)), numbers
