"""Cams: closed forms, and moment arms found again from the outline alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from feltload.calibration.cams.checks import check_cam
from feltload.calibration.cams.facts import CamFact
from feltload.calibration.cams.outline import cam_outline
from feltload.calibration.cams.synthesis import WantedForce, cam_rows, synthesise_cam, with_cam
from feltload.calibration.errors import GeometryError, MachineError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.leaving import CableLeaving, GuidePulley

G = 9.80665
DOWN = CableLeaving(0.005, 18.0, -0.5 * math.pi)
PULLEYS = (
    GuidePulley(0.35, -0.45, 0.05, -0.05),
    GuidePulley(0.30, -0.60, 0.05, 0.05),
    GuidePulley(-0.40, 0.50, 0.06, -0.06),
)
WAYS = (
    DOWN,
    CableLeaving(None, 18.0, math.radians(35.0)),
    *(replace(DOWN, pulley=pulley) for pulley in PULLEYS),
)


def cable_machine(more: str = "", leaving: str = "") -> Machine:
    return parse_machine(
        f"""
name = "invented"
mechanism = "cable"
start_angle = "-60 deg"
[cable]
drum_radius = "100 mm"
handle_radius = "350 mm"
pulley_ratio = 2
efficiency = "0.95"
{leaving}
[[cable.mass]]
name = "stack"
mass = "load"
{more}
"""
    )


def wanted(q: np.ndarray, force, load: float = 60.0, tolerance: float = 5.0) -> WantedForce:
    rows = np.broadcast_to(np.asarray(force, dtype=float), q.shape)[None, :]
    return WantedForce(q, np.array([load]), rows, np.full(rows.shape, tolerance))


def arm_from_outline(polygon: np.ndarray, leaving: CableLeaving, q: float) -> float:
    """Moment arm of a taut cable on a polygon turned by `q`: the farthest corner in the direction of the line's normal.

    With a guide pulley the normal is found by bisection between the line and the pulley's circle.
    """
    turned = polygon @ np.array([[math.cos(q), math.sin(q)], [-math.sin(q), math.cos(q)]])

    def support(angle: float) -> float:
        return float((turned @ np.array([math.cos(angle), math.sin(angle)])).max())

    if leaving.pulley is None:
        return support(leaving.direction_rad + 0.5 * math.pi)
    pulley = leaving.pulley
    toward = math.atan2(pulley.y, pulley.x)

    def gap(angle: float) -> float:
        axle = pulley.x * math.cos(angle) + pulley.y * math.sin(angle)
        return axle - pulley.outside - support(angle)

    low, high = toward, toward + math.pi
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if gap(middle) > 0.0 else (low, middle)
    return support(0.5 * (low + high))


def test_a_constant_force_wants_a_round_drum() -> None:
    # Closed form: F r_handle = m g r / n, with friction's midway factor (eta + 1/eta) / 2.
    q = np.radians(np.linspace(0.0, 100.0, 41))
    table = synthesise_cam(cable_machine(), wanted(q, 100.0), G)
    radius = 100.0 * 0.350 * 2.0 / (60.0 * G * 0.5 * (0.95 + 1.0 / 0.95))
    assert np.allclose(table.arm_m, radius, atol=1e-12)
    assert table.miss < 1e-9 and not table.bounded
    outline = cam_outline(*cam_rows(table), DOWN)
    assert np.allclose(np.hypot(*outline.centre_m.T), radius, atol=1e-9)
    assert np.allclose(np.hypot(*outline.closed_m.T), radius - 0.0025, atol=1e-9)
    assert np.allclose(outline.radius_m, radius, atol=1e-9)


def test_a_linear_spring_wants_the_fusee() -> None:
    # The fusee of a spring-driven clock: k x dx = M dq, so x = sqrt(x0^2 + 2 M q / k) and the arm is M / (k x).
    # Closed form by integration; the shape is common knowledge of clock-makers, no source.
    spring = """
[[spring]]
name = "spring"
on = "stack"
anchor_x = "233.33 mm"
anchor_y = "-20 m"
stiffness = "800 N/m"
free_length = "19.35 m"
"""
    machine = cable_machine(spring).with_parameters(
        {
            p.key: 1.0
            for p in cable_machine(spring).parameters
            if p.key.dimension in ("efficiency", "pulley_ratio")
        }
    )
    q = np.radians(np.linspace(0.0, 200.0, 201))
    moment = 80.0 * 0.35
    table = synthesise_cam(machine, wanted(q, 80.0, load=0.0), G)
    stretch = np.sqrt(0.15**2 + 2.0 * moment * q / 800.0)
    assert np.allclose(table.arm_m, moment / (800.0 * stretch), rtol=2e-4)
    assert check_cam(cam_outline(*cam_rows(table), DOWN), DOWN) == ()


@pytest.mark.parametrize("leaving", WAYS)
def test_moment_arms_are_found_again_from_the_outline(leaving: CableLeaving) -> None:
    turns = np.radians(np.linspace(-5.0, 125.0, 53))
    arms = 0.11 + 0.03 * np.sin(turns * 1.3) - 0.01 * turns
    outline = cam_outline(turns, arms, leaving)
    assert not [f for f in check_cam(outline, leaving) if f.kind != CamFact.BEND_UNCHECKED]
    found = [arm_from_outline(outline.centre_m, leaving, q) for q in turns[1:-1]]
    # The outline is a polygon within 0.02 mm of its curve.
    assert np.allclose(found, arms[1:-1], atol=2.5e-5)
    again = [arm_from_outline(outline.closed_m, leaving, q) for q in turns[1:-1]]
    if leaving.pulley is None:
        assert np.allclose(again, arms[1:-1] - 0.5 * (leaving.diameter or 0.0), atol=2.5e-5)


def test_the_cable_wound_is_the_moment_arm() -> None:
    """Length of cable from a mark on the cam to one on the guide pulley, by measuring it: its rate is the arm."""
    leaving = WAYS[2]
    pulley = PULLEYS[0]
    turns = np.radians(np.linspace(-5.0, 125.0, 53))
    arms = 0.11 + 0.03 * np.sin(turns * 1.3)
    outline = cam_outline(turns, arms, leaving)
    on_cam = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(outline.centre_m, axis=0).T))))
    normal = outline.psi_rad + outline.q_rad
    reach = pulley.x * np.sin(normal) - pulley.y * np.cos(normal)
    # The cable goes on round the pulley, and is as long there as its line's normal has turned.
    drawn = on_cam + (reach - outline.ahead_m) - pulley.outside * normal
    work = np.concatenate(
        ([0.0], np.cumsum(np.diff(outline.q_rad) * 0.5 * (outline.arm_m[1:] + outline.arm_m[:-1])))
    )
    assert np.allclose(drawn - drawn[0], work, atol=5e-5)


@settings(max_examples=25, deadline=None)
@given(
    mean=st.floats(0.07, 0.2),
    swing=st.floats(0.0, 0.35),
    waves=st.floats(0.3, 2.0),
    phase=st.floats(0.0, 6.0),
    travel=st.floats(40.0, 260.0),
)
def test_any_cam_that_is_not_hollow_gives_its_arms(
    mean: float, swing: float, waves: float, phase: float, travel: float
) -> None:
    turns = np.radians(np.linspace(0.0, travel, 80))
    arms = mean * (1.0 + swing * np.sin(waves * turns + phase))
    outline = cam_outline(turns, arms, DOWN)
    facts = check_cam(outline, DOWN)
    hollow = bool((arms - mean * swing * waves**2 * np.sin(waves * turns + phase) < -1e-3 * mean).any())
    if hollow:
        assert CamFact.HOLLOW in {f.kind for f in facts}
    elif not {CamFact.HOLLOW, CamFact.FOULS} & {f.kind for f in facts}:
        again = [arm_from_outline(outline.closed_m, DOWN, q) for q in turns[1:-1]]
        free = np.radians(travel) < math.pi
        if free or len(outline.closing_m):
            assert np.allclose(again, arms[1:-1] - 0.0025, atol=5e-5)


def test_the_new_machine_gives_the_wanted_force() -> None:
    q = np.radians(np.linspace(0.0, 100.0, 41))
    force = 90.0 + 40.0 * np.sin(np.linspace(0.0, math.pi, 41))
    machine = cable_machine(
        '[[cable.mass]]\nname = "lever"\nmass = "3 kg"\nradius = "180 mm"\nangle = "-60 deg"\non = "drum"'
    )
    table = synthesise_cam(machine, wanted(q, force), G)
    cam = with_cam(machine, *cam_rows(table))
    between = np.radians(np.linspace(0.0, 100.0, 333))
    got = cam.midway_force_n(between, 60.0, G)
    assert np.allclose(cam.midway_force_n(q, 60.0, G), force, atol=1e-6)
    assert np.abs(got - np.interp(between, q, force)).max() < 0.2


def test_a_cam_that_would_be_hollow_comes_as_near_as_it_can() -> None:
    q = np.radians(np.linspace(0.0, 100.0, 51))
    force = 100.0 + 60.0 * np.sin(np.radians(5.0 * np.degrees(q)))
    machine = cable_machine(leaving='[cable.leaving]\ndiameter = "4 mm"')
    table = synthesise_cam(machine, wanted(q, force, tolerance=10.0), G)
    assert table.bounded and table.miss > 1.0
    outline = cam_outline(*cam_rows(table), machine.mechanism.leaving)
    assert outline.radius_m.min() > 0.9 * 0.5 * 18.0 * 0.004
    exact = cam_outline(q, force * 0.35 * 2.0 / (60.0 * G), DOWN)
    assert CamFact.HOLLOW in {f.kind for f in check_cam(exact, DOWN)}


def test_two_loads_share_the_miss() -> None:
    q = np.radians(np.linspace(0.0, 90.0, 31))
    machine = cable_machine()
    loads = np.array([40.0, 80.0])
    force = np.array([np.full(31, 70.0), np.full(31, 120.0)])
    table = synthesise_cam(machine, WantedForce(q, loads, force, np.full(force.shape, 5.0)), G)
    # By hand: forces are in proportion to the load, so 40 kg is x and 80 kg is 2 x, and 70 - x = ... at x = 190 / 3.
    assert table.force_n[0] == pytest.approx(190.0 / 3.0, abs=1e-6)
    assert table.miss == pytest.approx((70.0 - 190.0 / 3.0) / 5.0, abs=1e-6)


@pytest.mark.parametrize(
    ("leaving", "turns", "arms", "kind"),
    [
        (replace(DOWN, diameter=0.02), (0.0, 50.0, 100.0), (0.1, 0.1, 0.1), CamFact.SHARP),
        (replace(DOWN, diameter=None), (0.0, 50.0, 100.0), (0.1, 0.1, 0.1), CamFact.BEND_UNCHECKED),
        (DOWN, (0.0, 200.0, 400.0), (0.1, 0.1, 0.1), CamFact.TURNS_OVER),
        (DOWN, (0.0, 50.0, 100.0), (0.1, 0.2, 0.1), CamFact.HOLLOW),
        (
            replace(DOWN, pulley=GuidePulley(0.1, -0.1, 0.05, -0.05)),
            (0.0, 50.0, 100.0),
            (0.1, 0.1, 0.1),
            CamFact.PULLEY_NEAR,
        ),
    ],
)
def test_what_speaks_against_a_cam(leaving, turns, arms, kind) -> None:  # type: ignore[no-untyped-def]
    facts = check_cam(cam_outline(np.radians(turns), np.array(arms), leaving), leaving)
    assert kind in {fact.kind for fact in facts}


def test_a_lever_has_no_cam() -> None:
    from feltload.calibration.machine.survey import example_text

    q = np.radians(np.linspace(0.0, 60.0, 21))
    with pytest.raises(MachineError, match="a lever has no cam"):
        synthesise_cam(parse_machine(example_text("lever")), wanted(q, 100.0), G)


def test_a_limit_alone_is_no_force_to_lay_a_cam_out_for() -> None:
    from feltload.calibration.cams.designed import design_cam
    from feltload.calibration.errors import DesignError
    from feltload.calibration.target.phrase import parse_target

    targets = parse_target("250 ± 20 N at start, at most 400 N")
    with pytest.raises(DesignError, match="is a limit"):
        design_cam(cable_machine(), targets, loads_kg=[40.0], travel_rad=1.0)


def test_arms_that_cannot_be_are_refused() -> None:
    q = np.radians(np.linspace(0.0, 120.0, 21))
    machine = cable_machine(leaving='[cable.leaving]\ndiameter = "40 mm"')
    with pytest.raises(GeometryError, match="bends the cable gently"):
        synthesise_cam(machine, wanted(q, 100.0), G, limits_m=(0.01, 0.1))
