"""A predicted profile: closed forms of statics, its band and budget, and the same files as a measured one."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from feltload.calibration import (
    FrictionRange,
    GeometryError,
    MachineError,
    ParameterKey,
    PredictionFact,
    Varied,
    example_text,
    local_gravity,
    parse_machine,
    predict_profile,
    predict_variants,
)
from feltload.core import STANDARD_GRAVITY_M_S2
from feltload.signal import BudgetSource, ProfileError, ProfileMethod, load_results, save_results

G = STANDARD_GRAVITY_M_S2
PLAIN = """
name = "plain lever"
mechanism = "lever"
start_angle = "0(0.5) deg"
[lever]
handle_radius = "500(2) mm"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "250(3) mm"
angle = "0 deg"
"""
INCLINE = """
name = "incline"
mechanism = "sled"
[sled]
incline = "30(0) deg"
rail_friction = "0.2(0.02)"
wheel_radius = "50(0) mm"
[[sled.mass]]
name = "sled"
mass = "20(0) kg"
[[sled.mass]]
name = "plates"
mass = "load"
"""


def predicted(text: str = PLAIN, **options):
    given = {
        "travel_rad": np.radians(80.0),
        "loads_kg": np.array([20.0, 40.0]),
        "gravity": GRAVITY,
        **options,
    }
    return predict_profile(parse_machine(text, "machine.toml"), **given)


GRAVITY = dataclasses.replace(local_gravity(), value=G, u=0.0)


def test_a_lever_follows_the_law_of_the_lever() -> None:
    """Closed form: F r = m g rho cos q, and the felt mass is m (rho / r)^2."""
    made = predicted()
    q = made.estimate.angle_rad
    for k, load in enumerate(made.estimate.loads_kg):
        np.testing.assert_allclose(made.estimate.static_n[k], load * G * 0.5 * np.cos(q), rtol=1e-12)
        np.testing.assert_allclose(made.arms.felt_mass_kg[k], load * 0.25, rtol=1e-9)
    np.testing.assert_allclose(made.arms.leverage, 0.5 * np.cos(q), atol=1e-12)
    np.testing.assert_allclose(made.arms.handle_m, 0.5)


def test_an_incline_with_friction() -> None:
    """Closed form of statics: up m g (sin a + mu cos a), down m g (sin a - mu cos a); u of mu is m g cos a u(mu)."""
    made = predicted(INCLINE, travel_rad=6.0).estimate
    weight = (20.0 + made.loads_kg) * G
    sine, cosine = np.sin(np.radians(30.0)), np.cos(np.radians(30.0))
    np.testing.assert_allclose(made.raising_n[:, 0], weight * (sine + 0.2 * cosine), rtol=1e-9)
    np.testing.assert_allclose(made.lowering_n[:, 0], weight * (sine - 0.2 * cosine), rtol=1e-9)
    np.testing.assert_allclose(made.friction_u95_n[:, 0], 1.96 * weight * cosine * 0.02, rtol=1e-6)
    assert PredictionFact.NO_FRICTION not in {fact.kind for fact in made.warnings}
    with pytest.raises(MachineError, match="count them twice"):
        predicted(INCLINE, travel_rad=6.0, friction=FrictionRange(5.0, 15.0))


def test_the_band_is_the_budget() -> None:
    """First order by hand: u(radius) / radius and the peg's angle, whose cosine has no slope at 0."""
    made = predicted().estimate
    squares = sum(item.curve_n**2 for item in made.budget)
    np.testing.assert_allclose(np.diag(made.covariance_n2).reshape(squares.shape), squares, rtol=1e-9)
    names = {item.figures.get("dimension") for item in made.budget if item.source is BudgetSource.DIMENSION}
    assert {"plates.radius", "plates.angle", "handle_radius"} <= names
    relative = np.hypot(3.0 / 250.0, 2.0 / 500.0)
    assert made.static_u95_n[1, 0] == pytest.approx(1.96 * relative * 40.0 * G * 0.5, rel=1e-3)


def test_what_is_not_stated_is_said() -> None:
    facts = {fact.kind: fact for fact in predicted().estimate.warnings}
    assert PredictionFact.NOT_MEASURED in facts
    assert PredictionFact.NO_FRICTION in facts
    assert "plates.angle" in facts[PredictionFact.DEFAULT_UNCERTAINTIES].figures["names"]
    over = predicted(travel_rad=np.radians(120.0)).estimate.warnings
    pushing = [fact for fact in over if fact.kind is PredictionFact.PUSHES_ALONG]
    assert [fact.figure("load_kg") for fact in pushing] == [20.0, 40.0]
    assert np.degrees(pushing[0].figure("low_rad")) == pytest.approx(90.0, abs=2.0)


def test_a_stated_range_of_friction_is_its_band() -> None:
    made = predicted(friction=FrictionRange(0.03, 0.08, relative=True)).estimate
    np.testing.assert_allclose(made.friction_n, 0.055 * np.abs(made.static_n))
    np.testing.assert_allclose(made.friction_u95_n, 0.025 * np.abs(made.static_n))
    steady = predicted(friction=FrictionRange(5.0, 15.0)).estimate
    np.testing.assert_allclose(steady.raising_n - steady.static_n, 10.0)


@pytest.mark.parametrize("kind", ["lever", "four-bar", "cable", "straight-pull", "sled"])
def test_it_is_kept_in_the_files_of_a_measured_profile(kind: str, tmp_path) -> None:
    machine = parse_machine(example_text(kind), kind)
    made = predict_profile(
        machine, travel_rad=np.radians(60.0), loads_kg=np.array([20.0, 40.0]), trials=50
    ).estimate
    save_results(tmp_path, made)
    back = load_results(tmp_path)
    assert back.method is ProfileMethod.PREDICTION
    assert not back.measured
    np.testing.assert_array_equal(back.static_n, made.static_n)
    still = back.force_n(back.angle_rad, load_kg=40.0)
    np.testing.assert_allclose(still, made.static_n[1], rtol=1e-9)
    if np.isnan(made.friction_n).all():
        q = made.angle_rad[3:4] - made.start_angle_rad
        moving = machine.force_n(q, np.array([0.5]), np.array([2.0]), 30.0, local_gravity().value)
        assert back.force_n(back.angle_rad[3], 0.5, 2.0, load_kg=30.0) == pytest.approx(moving[0], rel=1e-9)


def test_friction_that_would_hold_the_load_is_refused() -> None:
    with pytest.raises(MachineError, match="nothing would come down"):
        predicted(friction=FrictionRange(500.0, 500.0))


def test_nothing_is_predicted_without_masses_or_force() -> None:
    bare = PLAIN.split("[[")[0]
    with pytest.raises(MachineError, match="no mass is given"):
        predicted(bare)
    with pytest.raises(MachineError, match="nothing resists"):
        predicted(loads_kg=np.array([0.0]))


def test_variants_are_the_machine_with_that_dimension() -> None:
    machine = parse_machine(PLAIN, "machine.toml")
    radius, angle = (machine.parameter(ParameterKey(name, "plates")) for name in ("radius", "angle"))
    q = np.linspace(0.0, 1.0, 5)
    made = predict_variants(
        machine,
        [Varied(radius, (0.2, 0.3)), Varied(angle, (0.0, 0.1, 0.2))],
        q,
        np.array([20.0]),
        GRAVITY,
    )
    assert len(made) == 6
    np.testing.assert_allclose(made[4].static_n[0], 20.0 * G * 0.3 / 0.5 * np.cos(0.1 + q))
    with pytest.raises(MachineError, match="told apart"):
        predict_variants(
            machine, [Varied(radius, tuple(np.linspace(0.1, 0.3, 31)))], q, np.array([20.0]), GRAVITY
        )
    with pytest.raises(MachineError, match="cannot be"):
        predict_variants(machine, [Varied(radius, (5.0,))], q, np.array([20.0]), GRAVITY)
    linkage = parse_machine(example_text("four-bar"), "four-bar")
    ground = linkage.parameter(ParameterKey("ground_length"))
    with pytest.raises(GeometryError, match="with ground_length"):
        predict_variants(linkage, [Varied(ground, (5.0,))], q, np.array([20.0]), GRAVITY)


def test_a_variant_has_its_band_and_that_of_its_difference() -> None:
    """By hand: F = m g rho cos q / r. The radius that varies has u(rho) twice; u(r) goes with the difference."""
    machine = parse_machine(PLAIN, "machine.toml")
    radius = machine.parameter(ParameterKey("radius", "plates"))
    q, load = np.linspace(0.0, 0.5, 21), 40.0
    near, far = predict_variants(machine, [Varied(radius, (0.252, 0.29))], q, np.array([load]), GRAVITY)
    weight = load * G * np.cos(q) / 0.5
    relative = np.hypot(0.003 / 0.29, 0.002 / 0.5)
    assert far.static_u95_n[0, 0] == pytest.approx(1.96 * relative * 0.29 * weight[0], rel=2e-3)
    np.testing.assert_allclose(far.difference_n[0], 0.04 * weight, rtol=1e-6)
    by_hand = np.hypot(np.sqrt(2.0) * 0.003, 0.04 * 0.002 / 0.5) * weight
    # The curve moves nearly as a whole, so that its band is little wider than that of one position.
    assert 1.9 < far.difference_u95_n[0, 0] / by_hand[0] < 2.6
    assert far.differs.all()
    assert not near.differs.any()


def test_a_dimension_that_does_nothing_is_refused() -> None:
    text = example_text("lever")
    machine = parse_machine(text, "lever")
    gyration = machine.parameter(ParameterKey("gyration_radius", "arm"))
    with pytest.raises(MachineError, match=r"does not depend on arm\.gyration_radius"):
        predict_variants(
            machine, [Varied(gyration, (0.1, 0.2))], np.linspace(0.0, 1.0, 5), np.array([40.0]), GRAVITY
        )


def test_a_profile_at_stops_still_refuses_motion() -> None:
    estimate = dataclasses.replace(predicted().estimate, method=ProfileMethod.STOPS)
    with pytest.raises(ProfileError, match="in motion"):
        estimate.force_n(estimate.angle_rad, 1.0, load_kg=20.0)
