"""Rope and pulleys against free-body diagrams solved pulley by pulley, published tables, and virtual work."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import machine_texts as texts
from feltload.calibration.errors import MachineError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.machine import Machine
from feltload.core.constants import STANDARD_GRAVITY_M_S2
from feltload.emulator.machines.catalogue import machine as emulated_machine
from feltload.emulator.machines.dynamics import required_pull_n
from feltload.emulator.machines.friction import Friction
from feltload.emulator.machines.straight import StraightMover
from published_data import published

G = STANDARD_GRAVITY_M_S2
ADVANTAGES = ("1:1", "2:1", "1:2", "3:1", "4:1", "5:1", "6:1")
REST = np.zeros(1)


def rope(advantage: str = "1:1", pulleys: int = 1, efficiency: float = 1.0, more: str = "") -> Machine:
    return parse_machine(f"""
name = "rope"
mechanism = "straight-pull"
[straight-pull]
pulley_radius = "40 mm"
advantage = "{advantage}"
pulleys = {pulleys}
pulley_efficiency = "{efficiency}(0.01)"
{more}
[[straight-pull.mass]]
name = "weight"
mass = "load"
""")


def free_body_n(advantage: str, pulleys: int, efficiency: float, weight_n: float, direction: int) -> float:
    """Pull at the handle: one equation for each pulley's loss, one for the balance of weight and handle."""
    to_handle, to_weight = map(int, advantage.split(":"))
    at_weight = to_handle if to_handle > to_weight else 1
    at_handle = to_weight if to_weight > to_handle else 1
    # Strands from the far end of the rope: those at the weight, one after each fixed pulley, those at the handle.
    strands = (at_weight - 1) + pulleys + 1 + (at_handle - 1)
    ratio = efficiency**direction
    equations, right = np.zeros((strands + 1, strands + 1)), np.zeros(strands + 1)
    for i in range(strands - 1):
        # Towards the handle the tension grows when raising.
        equations[i, i], equations[i, i + 1] = 1.0, -ratio
    equations[strands - 1, :at_weight], right[strands - 1] = 1.0, weight_n
    equations[strands, strands - at_handle : strands] = 1.0
    equations[strands, strands] = -1.0
    return float(np.linalg.solve(equations, right)[-1])


@pytest.mark.parametrize("advantage", ADVANTAGES)
@pytest.mark.parametrize("pulleys", [1, 3])
def test_every_pull_is_the_balance_of_its_strands(advantage: str, pulleys: int) -> None:
    machine = rope(advantage, pulleys, 0.94)
    for direction in (1, -1):
        expected = free_body_n(advantage, pulleys, 0.94, 30.0 * G, direction)
        assert machine.slow_force_n(REST, 30.0, direction)[0] == pytest.approx(expected, rel=1e-12)
    to_handle, to_weight = map(int, advantage.split(":"))
    assert machine.static_force_n(REST, 30.0)[0] == pytest.approx(30.0 * G * to_weight / to_handle)


def test_a_pulley_without_friction_passes_the_tension_on() -> None:
    # Baker and Haynes, Engineering Statics: two hanging weights, tension on both sides of the pulley at B.
    given = published("two_hanging_weights")
    for pulleys in (1, 2, 3):
        force = rope(pulleys=pulleys).slow_force_n(REST, given["tension_bc_n"] / G, 1)[0]
        assert force == pytest.approx(given["tension_ab_n"], abs=0.05)


@pytest.mark.parametrize(("bearing", "efficiency"), [("plain", 0.96), ("rolling", 0.98)])
def test_efficiency_of_rope_drives(bearing: str, efficiency: float) -> None:
    # DIN 15020-1: one fixed pulley more is one more factor of its efficiency.
    given = published("rope_drives")
    for strands, printed in zip(given["strands"], given[bearing], strict=True):
        if f"{strands}:1" in ADVANTAGES:
            machine = rope(f"{strands}:1", 1, efficiency)
            ideal = 20.0 * G / strands
            tackle = ideal / machine.slow_force_n(REST, 20.0, 1)[0] / efficiency
            # Both printed and rounded to a hundredth; one entry lies on the half.
            assert tackle == pytest.approx(printed, abs=0.0056)


@pytest.mark.parametrize(("advantage", "travel_mm"), [("2:1", 80.0), ("1:2", 40.0)])
def test_a_travelling_pulley_rolls_along_its_strand(advantage: str, travel_mm: float) -> None:
    """Its axle goes one circumference a turn; the free strand goes twice as far."""
    machine = rope(advantage, more='sensor_on = "travelling pulley"')
    turn = 2.0 * np.pi * machine.terms(REST, 0.0).handle.travel[0]
    assert turn == pytest.approx(2.0 * np.pi * travel_mm * 1e-3)
    axle = machine.mechanism.frames(np.array([0.0, 1.0]), machine.values)["pulley"].origin.position
    assert np.hypot(*(axle[1] - axle[0])) == pytest.approx(0.04)
    # The force at the handle does not hang on where the sensor is.
    assert machine.static_force_n(REST, 20.0) == pytest.approx(rope(advantage).static_force_n(REST, 20.0))


def test_where_the_turns_say_nothing_it_is_refused() -> None:
    with pytest.raises(MachineError, match="not known"):
        rope("3:1", more='sensor_on = "travelling pulley"')
    with pytest.raises(MachineError, match="pulleys"):
        rope(pulleys=0)


def test_a_heavy_handle_weighs_by_the_direction_of_the_rope() -> None:
    text = texts.STRAIGHT_PULL.replace("10(2) deg", "-90 deg")
    pulled_down, level = (
        parse_machine(t).static_force_n(REST, 0.0)[0]
        for t in (text, text.replace('rope_direction = "-90 deg"\n', ""))
    )
    assert level - pulled_down == pytest.approx(1.2 * G)


@pytest.mark.parametrize("advantage", ADVANTAGES)
@pytest.mark.parametrize("pulleys", [1, 2, 4])
def test_it_is_drawn_with_every_pulley_and_its_rope_ends_at_the_handle(advantage: str, pulleys: int) -> None:
    machine = rope(advantage, pulleys)
    strokes = machine.mechanism.outline(2.0, machine.values)
    circles = [stroke for stroke in strokes if stroke.radius is not None]
    strands = max(map(int, advantage.split(":")))
    assert len(circles) == pulleys + strands - 1
    hand = machine.terms(np.array([2.0]), 0.0).handle.path
    assert hand is not None
    ends = np.vstack([stroke.points for stroke in strokes])
    assert np.hypot(*(ends - hand.position[0]).T).min() < 1e-12


@pytest.mark.parametrize(
    ("name", "more", "radius_mm", "advantage"),
    [
        ("rope-pulley", "", 100.0, "1:1"),
        ("travelling-pulley", 'sensor_on = "travelling pulley"', 45.0, "2:1"),
    ],
)
def test_moving_it_takes_what_the_emulated_machine_asks(
    name: str, more: str, radius_mm: float, advantage: str
) -> None:
    """An emulated machine with mechanics of its own, its friction and its wheels' own inertia taken away."""
    emulated = emulated_machine(name)
    assert isinstance(emulated, StraightMover)
    bare = replace(emulated, friction=Friction(0.0, 0.0, viscous_n_per_rad_s=0.0), own_inertia_kg_m2=0.0)
    surveyed = parse_machine(f"""
name = "rope"
mechanism = "straight-pull"
[straight-pull]
pulley_radius = "{radius_mm} mm"
advantage = "{advantage}"
{more}
[[straight-pull.mass]]
name = "stack"
mass = "load"
[[straight-pull.mass]]
name = "carriage"
mass = "{emulated.carriage_kg} kg"
""")
    rng = np.random.default_rng(4)
    q, rate, accel = rng.uniform(0.0, 5.0, 20), rng.uniform(-8.0, 8.0, 20), rng.uniform(-20.0, 20.0, 20)
    asked = required_pull_n(bare, q, rate, accel, 25.0, G)
    assert surveyed.force_n(q, rate, accel, 25.0, G) == pytest.approx(asked, rel=1e-12)
    travelled = 1e-3 * radius_mm if more else 0.0
    assert surveyed.mechanism.rolling_m(surveyed.values) == pytest.approx(travelled)
    assert np.hypot(*emulated.axle_m_rad) == pytest.approx(travelled)
