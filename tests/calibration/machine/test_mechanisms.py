"""Mechanisms against an independent potential-energy difference, and against published examples."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

import machine_texts as texts
from feltload.calibration.errors import GeometryError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import ParameterKey
from feltload.core.constants import STANDARD_GRAVITY_M_S2
from feltload.core.quantities import parse_quantity
from published_data import published

G = STANDARD_GRAVITY_M_S2
LOAD = 40.0
Q = np.radians(np.linspace(2.0, 78.0, 9))


def derivative(f: Callable[[float], float], x: float, h: float = 4e-3) -> float:
    """Eighth-order central difference."""
    weights = {1: 4 / 5, 2: -1 / 5, 3: 4 / 105, 4: -1 / 280}
    return sum(w * (f(x + k * h) - f(x - k * h)) for k, w in weights.items()) / h


def lever_energy(q: float) -> float:
    parts = [(9.5, 0.38, -21.0), (LOAD, 0.27, 13.0), (4.0, 0.3, 160.0)]
    return sum(m * G * np.cos(np.radians(8)) * r * np.sin(np.radians(a) + q) for m, r, a in parts)


def rocker_and_coupler(q: float) -> tuple[float, float, complex, complex]:
    """Elevations of rocker and coupler by closing the loop numerically in the complex plane."""
    joint = 0.25 * np.exp(1j * (np.radians(70) + q))
    pivot = 0.6 * np.exp(1j * np.radians(-10))

    def gap(rocker: float) -> float:
        return abs(pivot + 0.4 * np.exp(1j * rocker) - joint) - 0.52

    grid = np.linspace(-np.pi, np.pi, 721)
    roots = [brentq(gap, a, b, xtol=1e-15) for a, b in itertools.pairwise(grid) if gap(a) * gap(b) < 0]
    closed = [(r, np.angle(pivot + 0.4 * np.exp(1j * r) - joint)) for r in roots]
    # Assembled open: the coupler lies counter-clockwise of the line from joint to far pivot.
    rocker, coupler = max(closed, key=lambda rc: np.sin(rc[1] - np.angle(pivot - joint)))
    return rocker, coupler, joint, pivot


def four_bar_energy(q: float) -> float:
    rocker, coupler, joint, pivot = rocker_and_coupler(q)
    rocker0, coupler0, _, _ = rocker_and_coupler(0.0)
    plates = pivot + 0.5 * np.exp(1j * (np.radians(40) + rocker - rocker0))
    bar = joint + 0.26 * np.exp(1j * (np.radians(25) + coupler - coupler0))
    handle = 0.35 * np.exp(1j * (np.radians(20) + q))
    return float(G * (LOAD * plates.imag + 3.0 * bar.imag + 2.0 * handle.imag))


CAM = PchipInterpolator(np.radians([-5, 20, 60, 100]), [0.08, 0.095, 0.11, 0.085])


def cable_energy(q: float) -> float:
    wound = quad(CAM, 0.0, q, epsabs=1e-14, epsrel=1e-13, points=[np.radians(20), np.radians(60)])[0]
    return G * (LOAD * wound / 2.0 + 3.0 * 0.18 * np.sin(np.radians(-60) + q))


def sled_energy(q: float) -> float:
    return G * (35.0 + LOAD) * 0.05 * q * np.sin(np.radians(45))


def straight_pull_energy(q: float) -> float:
    return G * ((LOAD + 1.5) * 0.05 * q / 2.0 + 1.2 * 0.05 * q * np.sin(np.radians(10)))


def add_on_energy(q: float) -> float:
    def tip(radius: float, angle: float) -> np.ndarray:
        return radius * np.array([np.cos(np.radians(angle) + q), np.sin(np.radians(angle) + q)])

    spring = np.linalg.norm(tip(0.2, -40) - [0.15, -0.42]) - 0.18
    length = np.linalg.norm(tip(0.4, -20) - [0.3, -0.7])
    band = PchipInterpolator([0.4, 0.6, 0.9, 1.5], [0.0, 60.0, 130.0, 220.0])
    pulled = (
        quad(band, 0.4, length, epsabs=1e-13, epsrel=1e-12, points=[0.6, 0.9])[0] if length > 0.4 else 0.0
    )
    height = tip(0.6, -22)[1] + 0.8
    hanging = min(max(height, 0.0), 0.9)
    chain = 4.0 * G * np.cos(np.radians(8)) * (0.5 * hanging**2 + 0.9 * max(height - 0.9, 0.0))
    return lever_energy(q) + 400.0 * spring**2 + pulled + chain


CASES = {
    "lever": (texts.LEVER, lever_energy, 0.655),
    "four-bar": (texts.FOUR_BAR, four_bar_energy, 0.7),
    "cable": (texts.CABLE, cable_energy, 0.35),
    "straight-pull": (texts.STRAIGHT_PULL, straight_pull_energy, 0.05),
    "sled": (texts.SLED, sled_energy, 0.05),
    "add-ons": (texts.LEVER + texts.ADD_ONS, add_on_energy, 0.655),
}


@pytest.mark.parametrize("kind", CASES)
def test_force_is_the_slope_of_an_independent_potential_energy(kind: str) -> None:
    text, energy, travel = CASES[kind]
    # Away from the kinks of tables and of the chain, where a wide difference does not apply.
    expected = np.array([derivative(energy, q) for q in Q]) / travel
    force = parse_machine(text).static_force_n(Q, LOAD)
    assert np.abs(force - expected).max() < 1e-8 * np.abs(expected).max()


@pytest.mark.parametrize("kind", CASES)
def test_inertia_slope_is_the_derivative_of_the_inertia(kind: str) -> None:
    machine = parse_machine(CASES[kind][0])
    for q in Q:
        terms = machine.terms(np.array([q]), LOAD)
        slope = derivative(lambda x: float(machine.terms(np.array([x]), LOAD).inertia[0]), q)
        assert slope == pytest.approx(terms.inertia_1[0], rel=1e-7, abs=1e-8 * terms.inertia[0])


def test_inertia_is_the_kinetic_energy_of_the_four_bar() -> None:
    machine = parse_machine(texts.FOUR_BAR)
    rocker0, coupler0, _, _ = rocker_and_coupler(0.0)

    def places(q: float) -> np.ndarray:
        rocker, coupler, joint, pivot = rocker_and_coupler(q)
        return np.array(
            [
                pivot + 0.5 * np.exp(1j * (np.radians(40) + rocker - rocker0)),
                joint + 0.26 * np.exp(1j * (np.radians(25) + coupler - coupler0)),
                0.35 * np.exp(1j * (np.radians(20) + q)),
                0.15 * coupler + 0j,
            ]
        )

    q = 0.6
    speed = np.array([derivative(lambda x, i=i: places(x)[i].real, q) for i in range(4)]) + 1j * np.array(
        [derivative(lambda x, i=i: places(x)[i].imag, q) for i in range(4)]
    )
    expected = float(np.sum(np.array([LOAD, 3.0, 2.0, 3.0]) * np.abs(speed) ** 2))
    assert machine.terms(np.array([q]), LOAD).inertia[0] == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("branch", ["open", "crossed"])
def test_four_bar_positions(branch: str) -> None:
    # Norton, Design of Machinery, example 4-1 (from memory, recomputed); published with crossed mirrored.
    given = published("four_bar")
    text = f"""
name = "example"
mechanism = "four-bar"
start_angle = "0 deg"
[four-bar]
ground_length = "{given["ground_mm"]} mm"
input_length = "{given["input_mm"]} mm"
coupler_length = "{given["coupler_mm"]} mm"
rocker_length = "{given["rocker_mm"]} mm"
input_angle = "{given["input_angle_deg"]} deg"
handle_radius = "100 mm"
branch = "{branch}"
[[four-bar.mass]]
name = "plates"
mass = "load"
radius = "100 mm"
angle = "0 deg"
"""
    machine = parse_machine(text)
    coupler, rocker = machine.mechanism.angles(np.zeros(1), machine.values)  # type: ignore[attr-defined]
    assert np.degrees(coupler[0]) == pytest.approx(given["coupler_deg"][branch], abs=1e-5)
    assert np.degrees(rocker[0]) == pytest.approx(given["rocker_deg"][branch], abs=1e-5)


def test_slider_crank_as_a_four_bar_with_a_very_long_rocker() -> None:
    # Norton, Design of Machinery, example 4-2 (from memory, recomputed): the joint of a rocker 1 km long slides.
    given = published("slider_crank")
    length, aside = 1e6, 120.0
    ground, slope = (
        np.hypot(aside, given["offset_mm"] - length),
        np.arctan2(given["offset_mm"] - length, aside),
    )
    text = f"""
name = "slider-crank"
mechanism = "four-bar"
start_angle = "0 deg"
[four-bar]
ground_length = "{ground:.9f} mm"
ground_angle = "{slope:.15f} rad"
input_length = "{given["crank_mm"]} mm"
input_angle = "{given["crank_angle_deg"]} deg"
coupler_length = "{given["coupler_mm"]} mm"
rocker_length = "{length} mm"
handle_radius = "100 mm"
[[four-bar.mass]]
name = "slider"
mass = "load"
radius = "{given["coupler_mm"]} mm"
angle = "0 deg"
on = "coupler"
"""
    machine = parse_machine(text)
    coupler = machine.mechanism.angles(np.zeros(1), machine.values)[0][0]  # type: ignore[attr-defined]
    crank = np.radians(given["crank_angle_deg"])
    assert given["crank_mm"] * np.cos(crank) + given["coupler_mm"] * np.cos(coupler) == pytest.approx(
        given["slider_mm"], abs=1e-3
    )
    # Velocity of the slider per radian by the textbook's relation; its path is flat, so a weight on it is not felt.
    frame = machine.mechanism.frames(np.zeros(1), machine.values)["coupler"]
    point = frame.point(0.001 * given["coupler_mm"], coupler)
    speed = -given["crank_mm"] * (np.sin(crank) - np.cos(crank) * np.tan(coupler))
    assert 1e3 * point.first[0] == pytest.approx([speed, 0.0], abs=1e-3)


def test_forearm_lever() -> None:
    # OpenStax, University Physics vol. 1, 12.2: weight and tendon both at 60° to a forearm that slopes by 30°; the
    # tendon's tension is the force at the "handle". The tendon pulls along the vertical, as the weight does.
    given = published("forearm")
    slope = 90.0 - given["angle_to_forearm_deg"]
    text = f"""
name = "forearm"
mechanism = "lever"
start_angle = "{slope} deg"
[lever]
handle_radius = "{given["tendon_in"]} in"
{{pull}} = "{{angle}} deg"
[[lever.mass]]
name = "hand"
mass = "{given["weight_lb"]} lb"
radius = "{given["hand_in"]} in"
angle = "{slope} deg"
"""
    pound = parse_quantity("1 lbf", "force").value
    for pull, angle in (("pull_angle", given["angle_to_forearm_deg"]), ("pull_direction", 90.0)):
        machine = parse_machine(text.format(pull=pull, angle=angle))
        force = machine.static_force_n(np.zeros(1), 0.0)[0]
        assert force / pound == pytest.approx(given["tension_lb"], abs=0.05)
        assert force == pytest.approx(given["tension_n"], abs=1.0)
    # A pull square to the forearm would do with less.
    square = parse_machine(text.format(pull="pull_angle", angle=90.0)).static_force_n(np.zeros(1), 0.0)[0]
    assert square == pytest.approx(given["tension_n"] * np.sin(np.radians(60.0)), abs=1.0)


def _held_and_raised_n(friction: float, turns: float, weight_n: float) -> tuple[float, float]:
    """Forces that just hold a weight on a rope round a post, and that just raise it."""
    machine = parse_machine(f"""
name = "rope over a post"
mechanism = "cable"
start_angle = "0 deg"
[cable]
drum_radius = "100 mm"
handle_radius = "100 mm"
[[cable.guide]]
name = "post"
friction = {friction}
wrap = "{360.0 * turns} deg"
[[cable.mass]]
name = "weight"
mass = "load"
""")
    held, raised = (machine.slow_force_n(np.zeros(1), weight_n / G, way, G)[0] for way in (-1, 1))
    return float(held), float(raised)


def test_rope_round_a_fixed_guide() -> None:
    # Capstan equation. What just holds the load is the slow lowering force, what just raises it the raising force.
    given = published("capstan")
    held, raised = _held_and_raised_n(given["friction"], given["turns"], 9810.0)
    assert 9810.0 / held == pytest.approx(given["factor"], abs=0.5)
    assert raised / 9810.0 == pytest.approx(given["factor"], abs=0.5)


def test_a_weight_held_by_a_rope_round_a_bar() -> None:
    # Baker and Haynes, Engineering Statics: Open and Interactive, 9.5.2, printed to a hundredth of a pound.
    given = published("rope_friction")
    pound = parse_quantity("1 lbf", "force").value
    held, _ = _held_and_raised_n(given["friction"], given["turns"], given["weight_lb"] * pound)
    assert held / pound == pytest.approx(given["held_lb"], abs=0.005)


def test_raising_costs_more_than_lowering_by_the_efficiency_squared() -> None:
    machine = parse_machine(texts.CABLE.replace('mass = "3.0(0.1) kg"', 'mass = "0 kg"'))
    up, down = machine.slow_force_n(Q, LOAD, 1), machine.slow_force_n(Q, LOAD, -1)
    assert down / up == pytest.approx(np.full(Q.size, 0.95**2))


def test_sled_on_rails_with_friction() -> None:
    # Textbook inclined plane: m g (sin a ± mu cos a).
    machine = parse_machine(texts.SLED)
    expected = 75.0 * G * (np.sin(np.pi / 4) + 0.01 * np.cos(np.pi / 4))
    assert machine.slow_force_n(Q, LOAD, 1) == pytest.approx(np.full(Q.size, expected))


def test_fixed_line_of_pull() -> None:
    # R = r sin(delta), delta between lever and line of pull.
    text = texts.LEVER.replace("[[lever.mass]]", 'pull_direction = "60 deg"\n[[lever.mass]]', 1)
    force = parse_machine(text).static_force_n(Q, LOAD)
    delta = np.radians(60.0 + 25.0) - Q
    assert force == pytest.approx(parse_machine(texts.LEVER).static_force_n(Q, LOAD) / np.sin(delta))
    fixed = texts.LEVER.replace("[[lever.mass]]", 'pull_angle = "70 deg"\n[[lever.mass]]', 1)
    assert parse_machine(fixed).static_force_n(Q, LOAD) == pytest.approx(
        parse_machine(texts.LEVER).static_force_n(Q, LOAD) / np.sin(np.radians(70))
    )


def test_pull_through_the_hinge_is_refused() -> None:
    text = texts.LEVER.replace("[[lever.mass]]", 'pull_direction = "-25 deg"\n[[lever.mass]]', 1)
    with pytest.raises(GeometryError, match="does not move along its line of pull"):
        parse_machine(text).static_force_n(np.zeros(1), LOAD)


def test_open_loop_names_the_lengths() -> None:
    machine = parse_machine(texts.FOUR_BAR.replace('"400(2) mm"', '"90(2) mm"'))
    with pytest.raises(GeometryError, match=r"coupler 520 and rocker 90 mm does not close"):
        machine.static_force_n(Q, LOAD)


def test_cam_beyond_its_table_is_refused() -> None:
    with pytest.raises(GeometryError, match="cam's table"):
        parse_machine(texts.CABLE).static_force_n(np.radians([130.0]), LOAD)


def test_band_beyond_its_table_is_refused() -> None:
    text = texts.LEVER + texts.ADD_ONS.replace('"1500 mm"', '"910 mm"').replace(
        'anchor_y = "-700(2) mm"', 'anchor_y = "-1200(2) mm"'
    )
    with pytest.raises(GeometryError, match='"band" is stretched to'):
        parse_machine(text).static_force_n(Q, LOAD)


def _arm(angle_deg: float, radius_mm: float = 600.0) -> Machine:
    return parse_machine(f"""
name = "arm"
mechanism = "lever"
start_angle = "-80 deg"
[lever]
handle_radius = "800 mm"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "{radius_mm} mm"
angle = "{angle_deg} deg"
""")


def test_long_straight_arm_rises_to_horizontal() -> None:
    # Common practice, no source: easy at the bottom, hardest near horizontal.
    force = _arm(-80.0).static_force_n(np.radians(np.linspace(0, 80, 81)), LOAD)
    assert (np.diff(force) > 0).all()


def test_mass_passing_over_and_behind_the_pivot_drops_off() -> None:
    # Common practice, no source.
    force = _arm(30.0, 200.0).static_force_n(np.radians(np.linspace(0, 80, 81)), LOAD)
    assert (np.diff(force) < 0).all()
    assert force[-1] < 0 < force[0]


def test_two_weights_balance_on_a_lever() -> None:
    # Principle of virtual work: two weights balance on a lever when W1 r1 = W2 r2.
    text = texts.LEVER.replace('"8(0.5) deg"', '"0 deg"')
    machine = parse_machine(text).with_parameters(
        {
            ParameterKey("mass", "counterweight"): 0.0,
            ParameterKey("mass", "arm"): 10.0,
            ParameterKey("radius", "arm"): 0.5,
            ParameterKey("angle", "arm"): 0.0,
            ParameterKey("angle", "plates"): np.pi,
        }
    )
    balance = 10.0 * 0.5 / 0.27
    assert machine.static_force_n(Q, balance) == pytest.approx(np.zeros(Q.size), abs=1e-9)
