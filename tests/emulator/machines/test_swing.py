"""Free swing of the emulated arm."""

from dataclasses import replace

import numpy as np
import pytest

from feltload.emulator import Friction, Person, scenario, simulate
from feltload.emulator.machines.swing import hanging_position_rad


# Pendulum period over the small-angle one at 10 and 60 degrees: complete elliptic integral, recomputed.
@pytest.mark.parametrize(("amplitude_deg", "ratio"), [(10.0, 1.0019072), (60.0, 1.0731820)])
def test_period_without_friction_is_the_pendulum_s(amplitude_deg: float, ratio: float) -> None:
    scene = scenario("rising-arm", load_kg=0.0, person=Person(swing_deg=amplitude_deg, swing_s=9.0))
    lever = replace(scene.machine, friction=Friction(0.0, 0.0, viscous_n_per_rad_s=0.0))
    scene = replace(scene, machine=lever)
    truth = simulate(scene, seed=1).truth
    balance = hanging_position_rad(lever, 0.0, scene.gravity_m_s2)
    away, t = truth["q_rad"].to_numpy() - balance, truth["t_s"].to_numpy()
    down = np.flatnonzero((away[:-1] > 0.0) & (away[1:] <= 0.0))
    crossing = t[down] + away[down] / (away[down] - away[down + 1]) * (t[1] - t[0])
    arm = lever.masses[0]
    inertia = arm.mass_kg * arm.radius_m**2 + arm.own_inertia_kg_m2
    small = 2.0 * np.pi * np.sqrt(inertia / (arm.mass_kg * scene.gravity_m_s2 * arm.radius_m))
    assert np.diff(crossing).mean() / small == pytest.approx(ratio, abs=2e-6)


def test_dry_friction_takes_the_same_from_every_swing() -> None:
    # Textbook decay of an oscillator with Coulomb friction: 4 M_f / k per cycle, linear in the count.
    scene = scenario("rising-arm", load_kg=0.0, person=Person(swing_deg=12.0, swing_s=12.0))
    lever = replace(scene.machine, friction=Friction(0.4, 0.0, viscous_n_per_rad_s=0.0))
    scene = replace(scene, machine=lever)
    run = simulate(scene, seed=1)
    away = run.truth["q_rad"].to_numpy() - hanging_position_rad(lever, 0.0, scene.gravity_m_s2)
    tops = away[1:-1][(away[1:-1] > away[:-2]) & (away[1:-1] >= away[2:])]
    arm = lever.masses[0]
    loss = 4.0 * 0.4 * lever.handle_radius_m / (arm.mass_kg * scene.gravity_m_s2 * arm.radius_m)
    assert tops.size >= 4
    np.testing.assert_allclose(-np.diff(tops), loss, rtol=0.02)
    assert run.truth["handle_force_n"].abs().max() == 0.0
