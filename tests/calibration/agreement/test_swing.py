"""Free swing against the elliptic integral and an integrated pendulum."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feltload.calibration.agreement.swing import (
    check_recorded_swing,
    check_swing,
    measure_swing,
    period_ratio,
)
from feltload.calibration.errors import AgreementError
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import ParameterKey
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
    assert check_swing(swing, _arm()).agrees
    wrong = check_swing(swing, _arm().with_parameters({ParameterKey("radius", "arm"): 0.48}))
    assert not wrong.agrees
    assert wrong.en > 0.0


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
    counterweight = ParameterKey("mass", "counterweight")
    machine = machine.with_parameters({counterweight: machine.values[counterweight] * heavier})
    result = check_recorded_swing(simulate(scene, seed=5).inertial, machine)
    assert result.agrees == (heavier == 1.0), result.en


def test_an_arm_that_soon_stops_is_refused() -> None:
    scene = scenario("lever-row", load_kg=0.0, person=Person(swing_deg=25.0, swing_s=14.0))
    with pytest.raises(AgreementError, match=r"the free swing has \d periods"):
        check_recorded_swing(simulate(scene, seed=5).inertial, parse_machine(machine_toml(scene)))
