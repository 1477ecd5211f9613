"""Play and flex of the emulated rig, against closed forms of mechanics."""

from dataclasses import replace

import numpy as np
import pytest

from feltload.emulator import Friction, Joint, Lever, LeverMass, Person, scenario, simulate
from feltload.emulator.machines.joint import follow, ring

NO_FRICTION = Friction(0.0, 0.0, viscous_n_per_rad_s=0.0)
FLEX = Joint(play_rad=0.0, mode_hz=12.0, damping=0.0)


def rising_zeros(time_s: np.ndarray, value: np.ndarray) -> np.ndarray:
    before = np.flatnonzero((value[:-1] < 0.0) & (value[1:] >= 0.0))
    return time_s[before] - value[before] * (time_s[1] - time_s[0]) / (value[before + 1] - value[before])


@pytest.mark.parametrize("section_kg_m2", [0.2, 8.0])
def test_two_free_masses_swing_with_the_frequency_of_their_reduced_mass(section_kg_m2: float) -> None:
    # Two masses on a spring: omega^2 = k (1/m1 + 1/m2), textbook (Landau & Lifshitz, Mechanics, 23, from memory).
    arm = 8.0
    stiffness, _ = FLEX.constants(arm)
    time = np.arange(4001) / 4000.0
    path = ring(FLEX, section_kg_m2, arm, time, (0.0, 0.3, 0.0, 0.0))
    zeros = rising_zeros(time, path[0] - path[2])
    expected_hz = np.sqrt(stiffness * (1.0 / section_kg_m2 + 1.0 / arm)) / (2.0 * np.pi)
    assert 1.0 / np.diff(zeros).mean() == pytest.approx(expected_hz, rel=1e-4)
    # Their common momentum stays.
    assert section_kg_m2 * path[1] + arm * path[3] == pytest.approx(section_kg_m2 * 0.3, abs=1e-6)


def heavy_wheel() -> Lever:
    """Nothing that gravity turns: inertia alone, behind the joint."""
    wheel = LeverMass("wheel", 10.0, 0.0, 0.0, 8.0)
    return Lever((wheel,), handle_radius_m=0.6, start_angle_rad=0.0, travel_rad=1.0, friction=NO_FRICTION)


@pytest.mark.parametrize("play_deg", [0.0, 0.2, 1.0])
def test_backlash_oscillator_has_the_period_of_free_flights_and_half_swings(play_deg: float) -> None:
    # Derived here, no text at hand: between two springs a gap b is crossed at the constant rate v twice a period, and
    # each spring turns the mass round in half a period of its own, pi / omega; so T = 2 pi / omega + 2 b / v.
    # The handle turns evenly, so v is its rate while the arm is at rest at first.
    play, rate = np.radians(play_deg), 0.1
    joint = replace(FLEX, play_rad=float(play))
    time = np.arange(8001) / 4000.0
    arm = follow(heavy_wheel(), joint, time, rate * time - play, np.full(time.size, rate), 0.0, 9.80665)
    turn = 2.0 * np.pi * joint.mode_hz
    starts = rising_zeros(time, arm.rate_rad_s - rate)
    assert starts.size >= 5
    assert np.diff(starts).mean() == pytest.approx(2.0 * np.pi / turn + 2.0 * play / rate, rel=1e-3)
    # The spring takes up the whole energy: k x^2 = I v^2.
    assert arm.moment_n_m.max() == pytest.approx(rate * 8.0 * turn, rel=2e-3)


def test_damping_takes_its_share_of_every_swing() -> None:
    # Logarithmic decrement of a linear oscillator, 2 pi zeta / sqrt(1 - zeta^2): textbook.
    joint = replace(FLEX, damping=0.03)
    time = np.arange(4001) / 4000.0
    held = np.zeros(time.size)
    # Section at rest a little ahead of the arm: it swings about the section's place.
    arm = follow(heavy_wheel(), joint, time, held + 0.01, held, 0.0, 9.80665)
    away = arm.q_rad - 0.01
    tops = away[1:-1][(away[1:-1] > away[:-2]) & (away[1:-1] >= away[2:])]
    decrement = 2.0 * np.pi * 0.03 / np.sqrt(1.0 - 0.03**2)
    np.testing.assert_allclose(-np.diff(np.log(tops)), decrement, rtol=2e-3)


@pytest.mark.parametrize("name", ["lever-row", "four-bar", "cam-drum", "band-arm"])
def test_a_stiff_joint_without_play_is_the_rigid_machine(name: str) -> None:
    person = Person(repetitions=2, tremor_deg=0.0, touch_share=0.0)
    runs = [
        simulate(scenario(name, person=person, joint=joint), seed=3).truth
        for joint in (None, Joint(mode_hz=90.0, damping=0.2, section_kg=0.0))
    ]
    going = (np.abs(runs[0]["rate_rad_s"]) > 0.15) & (runs[0]["q_rad"] > 0.2)
    for column, share in (("q_rad", 2e-3), ("handle_force_n", 0.01)):
        rigid, stiff = (run[column].to_numpy()[going] for run in runs)
        assert np.sqrt(np.mean((stiff - rigid) ** 2)) < share * np.max(np.abs(rigid))


def test_the_arm_follows_after_the_gap_and_the_sensor_sees_its_own_side() -> None:
    person = Person(repetitions=2, touch_share=1.0)
    play = float(np.radians(1.0))
    arm, handle = (
        simulate(scenario("lever-row", person=person, joint=Joint(play, 25.0, 0.05, side)), seed=2).truth
        for side in ("arm", "handle")
    )
    np.testing.assert_array_equal(arm["arm_rad"], handle["arm_rad"])
    np.testing.assert_array_equal(arm["arm_rad"], arm["q_rad"])
    # In the gap nothing is felt but the section's own inertia; carried, the handle is ahead by the gap and the flex.
    inside = (handle["q_rad"] > 0.1 * play) & (handle["q_rad"] < 0.8 * play)
    assert inside.sum() > 20
    assert handle["handle_force_n"][inside].abs().max() < 0.05 * handle["handle_force_n"].max()
    ahead = (handle["q_rad"] - handle["arm_rad"])[handle["arm_rad"] > 0.2]
    assert play < ahead.median() < play + np.radians(0.3)
