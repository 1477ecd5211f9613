"""The emulated rig's mechanics against published problems and against energy."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import cumulative_trapezoid, solve_ivp

from feltload.emulator import Friction, Lever, LeverMass, Person, scenario, scenario_names, simulate
from feltload.emulator.machines.catalogue import machine
from feltload.emulator.machines.dynamics import required_pull_n
from published_data import published

G = 9.80665
NO_FRICTION = Friction(0.0, 0.0, viscous_n_per_rad_s=0.0)


def free_accel(lever: Lever, q: float, load_kg: float) -> float:
    at = np.array([q])
    slope = lever.potential_slope_n_m(at, load_kg, G)
    return float(-slope[0] / lever.inertia_kg_m2(at, load_kg)[0])


# Period of a pendulum over its small-angle period: complete elliptic integral.
@pytest.mark.parametrize(
    ("amplitude_deg", "ratio"),
    list(zip(published("pendulum")["amplitude_deg"], published("pendulum")["ratio"], strict=True)),
)
def test_free_arm_swings_with_the_period_of_the_elliptic_integral(amplitude_deg: float, ratio: float) -> None:
    # A uniform rod hung from its end: small period 2 pi sqrt(2 L / 3 g).
    # OpenStax, University Physics vol. 1, 15.4: 1.49 m for 0.50 Hz.
    mass, length = 3.0, published("rod_pendulum")["length_m"]
    rod = Lever(
        (LeverMass("rod", mass, length / 2, np.radians(-90.0), mass * length**2 / 12),),
        handle_radius_m=1.0,
        start_angle_rad=np.radians(-90.0),
        travel_rad=1.0,
        friction=NO_FRICTION,
    )
    small = 2.0 * np.pi * np.sqrt(2.0 * length / (3.0 * G))
    assert small == pytest.approx(1.0 / published("rod_pendulum")["frequency_hz"], abs=0.0035)

    def through_bottom(_t: float, state: np.ndarray) -> float:
        return float(state[0])

    through_bottom.terminal = True
    result = solve_ivp(
        lambda _t, s: [s[1], free_accel(rod, s[0], 0.0)],
        (0.0, 3.0),
        [np.radians(amplitude_deg), 0.0],
        events=through_bottom,
        rtol=1e-11,
        atol=1e-12,
    )
    assert 4.0 * result.t_events[0][0] / small == pytest.approx(ratio, abs=2e-7)


def test_forearm_holds_the_published_tension() -> None:
    # OpenStax, University Physics vol. 1, 12.2: the forearm slopes by 30°, weight and tendon pull along the vertical;
    # the emulated lever is pulled square to it, so its pull is the tension's part across.
    given = published("forearm")
    inch, pound = 0.0254, 4.4482216152605
    across = np.sin(np.radians(given["angle_to_forearm_deg"]))
    slope = np.radians(90.0 - given["angle_to_forearm_deg"])
    forearm = Lever(
        (LeverMass("hand", given["weight_lb"] * pound / G, given["hand_in"] * inch, slope),),
        handle_radius_m=given["tendon_in"] * inch,
        start_angle_rad=slope,
        travel_rad=1.0,
        friction=NO_FRICTION,
    )
    pull = required_pull_n(forearm, np.zeros(1), np.zeros(1), np.zeros(1), 0.0, G)
    assert pull[0] / across == pytest.approx(given["tension_n"], abs=1.0)
    assert pull[0] / across / pound == pytest.approx(given["tension_lb"], abs=0.05)


@pytest.mark.parametrize("name", scenario_names())
def test_slopes_agree_with_their_integrals(name: str) -> None:
    # M' against M, and the pull against the work of a slow move, by quadrature apart from the closed forms.
    model = machine(name)
    q = np.linspace(0.0, model.travel_rad, 4001)
    inertia = model.inertia_kg_m2(q, 40.0)
    gained = cumulative_trapezoid(model.inertia_slope_kg_m2(q, 40.0), q, initial=0.0)
    np.testing.assert_allclose(inertia - inertia[0], gained, atol=1e-6 * inertia.max())


@pytest.mark.parametrize("name", scenario_names())
def test_work_of_the_hands_is_energy_gained_and_lost(name: str) -> None:
    person = Person(repetitions=3, rest_s=0.5, end_rest_s=0.5, touch_share=0.0)
    scene = scenario(name, load_kg=30.0, person=person)
    truth = simulate(scene, seed=4).truth
    moving = (truth["repetition"] > 0) & ~truth["phase"].isin(["take", "hands-off"])
    part = truth[moving]
    t, q, rate = (part[key].to_numpy() for key in ("t_s", "q_rad", "rate_rad_s"))
    speed = rate * scene.machine.handle_travel_m(q)
    work = cumulative_trapezoid(part["handle_force_n"].to_numpy() * speed, t, initial=0.0)
    rub = scene.machine.friction.force_n(q, rate, scene.load_kg)
    lost = cumulative_trapezoid(rub * speed, t, initial=0.0)
    kinetic = 0.5 * scene.machine.inertia_kg_m2(q, scene.load_kg) * rate**2
    grid = np.linspace(-0.02, scene.machine.travel_rad, 20001)
    stored = cumulative_trapezoid(
        scene.machine.potential_slope_n_m(grid, scene.load_kg, scene.gravity_m_s2), grid, initial=0.0
    )
    potential = np.interp(q, grid, stored)
    balance = work - lost - (kinetic - kinetic[0]) - (potential - potential[0])
    assert np.abs(balance).max() < 2e-4 * np.ptp(potential)
    assert lost[-1] > 0.0


def test_four_bar_follows_the_published_position() -> None:
    # Norton, Design of Machinery, example 4-1 (from memory; angles recomputed).
    given = published("four_bar")
    base = replace(
        machine("four-bar"),
        crank_m=given["input_mm"] / 1e3,
        coupler_m=given["coupler_mm"] / 1e3,
        rocker_m=given["rocker_mm"] / 1e3,
        rocker_pivot_m=(given["ground_mm"] / 1e3, 0.0),
        crank_elevation_rad=np.radians(given["input_angle_deg"]),
        travel_rad=0.2,
    )
    for branch, expected in given["rocker_deg"].items():
        linkage = replace(base, above=branch == "open")
        found = np.degrees(linkage._rocker_elevation(np.zeros(1)))[0]
        assert (found - expected + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-4)


def test_long_straight_arm_is_easy_hanging_and_hard_near_horizontal() -> None:
    # Common practice, no source.
    scene = scenario("rising-arm")
    force = scene.static_force_n(np.linspace(0.0, scene.machine.travel_rad, 50))
    assert np.all(np.diff(force) > 0.0)
    assert force[-1] > 2.5 * force[0]


def test_mass_that_passes_over_the_pivot_drops_off() -> None:
    # Common practice, no source.
    scene = scenario("over-the-top")
    force = scene.static_force_n(np.linspace(0.0, scene.machine.travel_rad, 50))
    assert force[-1] < 0.3 * force.max()
    assert force[-1] > 0.0
    assert np.argmax(force) < 10
