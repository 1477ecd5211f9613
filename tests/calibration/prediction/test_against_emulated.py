"""Predictions against emulated machines, whose physics is written apart; `benchmarks/study_predict.py` draws more."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.calibration import PredictionFact, local_gravity, parse_machine, predict_profile
from feltload.core import InputError
from rig_predict import World, four_bar, lever, worlds

DRAWS = 60
G = local_gravity()


def predicted(world: World, trials: int = 200):
    return predict_profile(
        parse_machine(world.text(world.values)),
        travel_rad=world.travel_rad,
        loads_kg=np.array([world.load_kg]),
        trials=trials,
    ).estimate


@pytest.fixture(scope="module")
def made():
    return [(world, predicted(world)) for world in worlds()]


def test_every_kind_of_machine_is_predicted_as_it_is(made) -> None:
    for world, estimate in made:
        q = estimate.angle_rad - estimate.start_angle_rad
        true = world.static_n(world.values, q, G.value)
        # A cam's table has a row every 10 degrees, and a curve through them.
        slack = 0.005 if world.name.startswith("cam") else 1e-9
        np.testing.assert_allclose(
            estimate.static_n[0], true, atol=slack * np.max(np.abs(true)), err_msg=world.name
        )
        if world.friction_n is not None:
            rubs = world.friction_n(world.values, world.load_kg, G.value)
            np.testing.assert_allclose(estimate.friction_n[0], rubs, rtol=1e-9, err_msg=world.name)


def test_machines_built_as_uncertain_as_the_file_says_lie_in_the_band(made) -> None:
    """95 % of each kind; a share of few draws that are alike along the travel wanders by some 3 % (binomial)."""
    shares = []
    for world, estimate in made:
        q = estimate.angle_rad - estimate.start_angle_rad
        rng, inside = np.random.default_rng(3), []
        for _ in range(DRAWS):
            try:
                true = world.static_n(world.drawn(rng), q, G.value + G.u * rng.standard_normal())
            except InputError:
                continue
            inside.append(np.abs(true - estimate.static_n[0]) <= estimate.static_u95_n[0])
        shares.append(float(np.mean(inside)))
        assert shares[-1] > 0.85, world.name
    assert 0.93 < np.mean(shares) < 0.98


def test_where_the_first_order_fails_machines_are_simulated(made) -> None:
    simulated = {
        world.name: any(fact.kind is PredictionFact.NOT_LINEAR for fact in estimate.warnings)
        for world, estimate in made
    }
    assert not simulated["four-bar"]
    assert not simulated["lever, counterweight"]
    near = four_bar("four-bar up to 7° from its toggle", coupler=420.0, travel=59.0)
    facts = {fact.kind for fact in predicted(near, trials=1000).warnings}
    assert PredictionFact.NOT_LINEAR in facts


def test_a_force_that_changes_its_sign_is_said_to_push_along() -> None:
    over = {"arm": (12.0, 460.0, 30.0), "plates": (None, 210.0, 55.0)}
    estimate = predicted(lever("over the top", over, start=0.0, travel=85.0))
    assert estimate.static_n.min() < 0.0 < estimate.static_n.max()
    assert PredictionFact.PUSHES_ALONG in {fact.kind for fact in estimate.warnings}
