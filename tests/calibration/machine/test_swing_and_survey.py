"""Free swing against the elliptic integral and an integrated pendulum; survey plan and drawing."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text
from scipy.integrate import solve_ivp

import machine_texts as texts
from feltload.calibration.agreement.swing import (
    check_recorded_swing,
    check_swing,
    measure_swing,
    period_ratio,
)
from feltload.calibration.errors import AgreementError, MachineError
from feltload.calibration.machine.drawing import draw_machine, save_drawing
from feltload.calibration.machine.machine import Machine, parse_machine
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.model_band import model_band
from feltload.calibration.machine.survey import example_text, plan_survey
from feltload.emulator import Friction, Person, machine_toml, scenario, simulate
from published_data import published


def test_large_amplitude_periods() -> None:
    given = published("pendulum")
    assert period_ratio(np.radians(given["amplitude_deg"])) == pytest.approx(given["ratio"], abs=1e-7)


def _arm() -> Machine:
    return parse_machine("""
name = "arm (invented)"
mechanism = "lever"
start_angle = "-60(0.5) deg"
[lever]
handle_radius = "655(2) mm"
[[lever.mass]]
name = "arm"
mass = "9.50(0.05) kg"
radius = "380(2) mm"
angle = "-60.0(0.5) deg"
gyration_radius = "200(2) mm"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "270(3) mm"
angle = "13.0(0.8) deg"
""")


def _swing(damping: float = 0.02) -> tuple[np.ndarray, np.ndarray]:
    """Damped pendulum of the same arm, integrated apart from the code under test."""
    stiffness = 9.5 * 9.80665 * 0.38 / (9.5 * (0.38**2 + 0.2**2))
    rest = np.radians(-30.0)  # q at which the arm hangs straight down

    def motion(_: float, state: np.ndarray) -> list[float]:
        return [state[1], -stiffness * np.sin(state[0] - rest) - damping * state[1]]

    time = np.arange(0.0, 16.0, 0.01)
    solved = solve_ivp(
        motion, (0.0, 16.0), [rest + np.radians(35.0), 0.0], t_eval=time, rtol=1e-10, atol=1e-12
    )
    return time, solved.y[0] + 2e-4 * np.random.default_rng(3).standard_normal(time.size)


def test_swing_gives_moment_over_inertia() -> None:
    swing = measure_swing(*_swing())
    truth = 9.80665 * 0.38 / (0.38**2 + 0.2**2)
    assert swing.moment_over_inertia == pytest.approx(truth, rel=2e-3)
    assert np.degrees(swing.rest_rad) == pytest.approx(-30.0, abs=0.3)


def test_swing_tells_a_right_arm_from_a_wrong_one() -> None:
    swing = measure_swing(*_swing())
    assert abs(check_swing(swing, _arm()).en) < 1.0
    wrong = check_swing(swing, _arm().with_parameters({"arm.radius": 0.48}))
    assert abs(wrong.en) > 1.0
    assert "differs from" in wrong.text


def test_rod_pendulum() -> None:
    # OpenStax, University Physics vol. 1, 15.4: a uniform beam of 1.49 m, hung by its end, swings at 0.50 Hz.
    given = published("rod_pendulum")
    length = given["length_m"]
    text = f"""
name = "rod"
mechanism = "lever"
start_angle = "-90 deg"
[lever]
handle_radius = "1 m"
[[lever.mass]]
name = "rod"
mass = "2 kg"
radius = "{length / 2} m"
angle = "-90 deg"
gyration_radius = "{length / np.sqrt(12.0)} m"
"""
    machine = parse_machine(text)
    step = 1e-5
    ends = machine.terms(np.array([step, -step]), 0.0, given["gravity_m_s2"])
    stiffness = (ends.gradient[0] - ends.gradient[1]) / (2 * step)
    period = 2 * np.pi * np.sqrt(ends.inertia[0] / stiffness)
    # The length is printed to 5 mm, the period so to 0.003 s.
    assert period == pytest.approx(1.0 / given["frequency_hz"], abs=0.0035)


def test_too_few_swings() -> None:
    time, q = _swing()
    with pytest.raises(AgreementError, match="periods"):
        measure_swing(time[:250], q[:250])


def test_survey_ranks_what_matters() -> None:
    plan = plan_survey("lever", see_percent=2.0)
    names = [item.name for item in plan.items]
    assert set(names[:2]) == {"plates.radius", "plates.angle"}
    assert names[-1] in ("hinge_inclination", "arm.gyration_radius", "start_angle")
    assert "hardly matters" in plan.text


def test_needed_uncertainties_are_enough() -> None:
    plan = plan_survey("four-bar", see_percent=2.0, travel_rad=np.radians(60))
    machine = parse_machine(example_text("four-bar"))
    needed = {item.name: item.needed_u for item in plan.items}
    shapes = model_band(
        machine, np.radians(np.linspace(0, 60, 41)), np.array([40.0]), 9.80665, 0.0, trials=200
    )
    names = [p.name for p in machine.parameters]
    scale = [min(needed[p.name] / (p.u / p.per_unit), 1.0) if p.u else 0.0 for p in machine.parameters]
    assert len(names) == len(scale)
    band = 1.96 * np.sqrt(np.sum((shapes.shapes_n * scale) ** 2, axis=1)).max() / np.abs(shapes.force_n).max()
    assert band <= 0.02


@pytest.mark.parametrize("kind", sorted(MECHANISMS))
def test_every_kind_has_an_example_a_plan_and_a_drawing(kind: str, tmp_path: Path) -> None:
    machine = parse_machine(example_text(kind))
    assert machine.mechanism.kind == kind
    assert plan_survey(machine, travel_rad=np.radians(60)).items
    picture = save_drawing(tmp_path / "side.svg", machine, travel_rad=np.radians(60), load_kg=40.0)
    assert "plates" in picture.read_text() or picture.stat().st_size > 10_000


def test_unknown_kind() -> None:
    with pytest.raises(MachineError, match='known are "lever"'):
        plan_survey("crane")


def test_add_ons_are_drawn(tmp_path: Path) -> None:
    machine = parse_machine(texts.LEVER + texts.ADD_ONS)
    assert save_drawing(tmp_path / "a.png", machine, travel_rad=1.0, load_kg=20.0).stat().st_size > 10_000


@pytest.mark.parametrize("kind", [*MECHANISMS, "add-ons"])
def test_labels_of_a_drawing_stand_apart_and_inside(kind: str) -> None:
    text = texts.LEVER + texts.ADD_ONS if kind == "add-ons" else example_text(kind)
    machine = parse_machine(text)
    figure = draw_machine(machine)
    FigureCanvasAgg(figure).draw()
    view = figure.axes[0]
    names = {"handle"} | {rider.name for rider in machine.riders}
    # Of the text alone: the extent of an annotation includes its leader.
    boxes = [Text.get_window_extent(t) for t in view.texts if t.get_text().partition(" (")[0] in names]
    assert len(boxes) == len(names)
    assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes, 2))
    frame = view.get_window_extent()
    assert all(frame.contains(*corner) for box in boxes for corner in box.corners())


@pytest.mark.parametrize("heavier", [1.0, 1.3])
def test_a_recorded_swing_tells_a_right_arm_from_a_wrong_one(heavier: float) -> None:
    # An arm on good bearings; with the friction of a worn one it stops after one or two swings.
    scene = scenario("lever-row", load_kg=0.0, person=Person(swing_deg=30.0, swing_s=14.0))
    scene = replace(
        scene, machine=replace(scene.machine, friction=Friction(0.3, 0.0, viscous_n_per_rad_s=0.3))
    )
    text = machine_toml(scene)
    for part in scene.machine.masses:
        if part.mass_kg is not None:
            spin = 1e3 * np.sqrt(part.own_inertia_kg_m2 / part.mass_kg)
            named = f'name = "{part.name}"\n'
            text = text.replace(named, f'{named}gyration_radius = "{spin:.2f} +/- 2 mm"\n')
    machine = parse_machine(text)
    machine = machine.with_parameters({"counterweight.mass": machine.values["counterweight.mass"] * heavier})
    result = check_recorded_swing(simulate(scene, seed=5).inertial, machine)
    assert (abs(result.en) <= 1.0) == (heavier == 1.0), result.text
    assert ("agrees with" in result.text) == (heavier == 1.0)


def test_an_arm_that_soon_stops_is_refused() -> None:
    scene = scenario("lever-row", load_kg=0.0, person=Person(swing_deg=25.0, swing_s=14.0))
    with pytest.raises(AgreementError, match=r"the free swing has \d periods"):
        check_recorded_swing(simulate(scene, seed=5).inertial, parse_machine(machine_toml(scene)))
