"""The profile against the truth of emulated machines, which share no code with the estimator."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.emulator import Person
from feltload.signal.errors import ProfileError
from rig_force_bound import cramer_rao_u_n

LIMITS = {
    ("ordinary", "mixed"): 1e-3,
    ("ordinary", "brisk"): 2e-3,
    ("cheap", "mixed"): 3e-3,
    ("fast", "mixed"): 1e-3,
}


@pytest.mark.parametrize("machine", ["lever-row", "fixed-pull", "four-bar", "cam-drum", "sticky-lever"])
@pytest.mark.parametrize(("sensors", "tempo"), LIMITS)
def test_static_friction_inertia_and_lag_come_out(measure, machine, sensors, tempo):
    found = measure(machine, sensors=sensors, tempo=tempo, seed=1)
    run = found.runs[0]
    assert found.static_error() < LIMITS[sensors, tempo]
    q = found.estimate.angle_rad - run.start_angle_rad
    friction = np.mean(found.estimate.friction_n) / np.mean(run.scenario.friction_n(q))
    assert friction == pytest.approx(1.0, abs=0.05)
    if sensors != "cheap":
        inertia = np.mean(found.estimate.inertia_n_per_rad_s2) / np.mean(run.scenario.inertia_n_per_rad_s2(q))
        # One brisk tempo parts the squared rate from a varying inertia only poorly.
        assert inertia == pytest.approx(1.0, abs=0.05 if tempo == "brisk" else 0.025)
    lag = found.lags[0]
    assert abs(lag.value_s - run.true_lag_s) < 4.0 * lag.u_s
    assert lag.u_s < 0.004


def test_two_loads_predict_a_third_and_the_unloaded_arm(measure):
    found = measure("lever-row", loads=(20.0, 40.0), seed=2)
    assert found.static_error(0) < 1e-3
    assert found.static_error(1) < 1e-3
    run, made = found.runs[0], found.estimate
    q = made.angle_rad - run.start_angle_rad
    for load in (0.0, 55.0):
        truth = run.scenario.static_force_n(q, load)
        assert made.force_n(made.angle_rad, load_kg=load) == pytest.approx(truth, abs=0.6)
    moving = made.force_n(made.angle_rad, 1.0, 2.0, 40.0)
    scene = found.runs[1].scenario
    expected = (
        scene.static_force_n(q) + scene.friction_n(q) + scene.viscous_n_per_rad_s
        + 2.0 * scene.inertia_n_per_rad_s2(q) + scene.rate_squared_n_per_rad2_s2(q)
    )  # fmt: skip
    assert moving == pytest.approx(expected, rel=0.01)


def test_one_load_does_not_predict_another_and_nothing_is_extrapolated(measure):
    made = measure("lever-row", seed=3).estimate
    with pytest.raises(ProfileError, match="only 40 kg was measured"):
        made.force_n(made.angle_rad, load_kg=20.0)
    assert np.isnan(made.force_n(made.angle_rad[-1] + 0.05))


@pytest.mark.parametrize(
    "habit",
    [
        {"knock_share": 0.6},
        {"cheat_share": 0.6},
        {"partial_share": 0.5},
        {"letgo_share": 0.5},
        {"pause_s": 2.0},
        {"repetitions": 3},
    ],
)
def test_bad_habits_do_not_bend_the_profile(measure, habit):
    found = measure("over-the-top", seed=4, person=Person(**habit))
    assert found.static_error() < 2e-3


def test_partial_repetitions_are_named_and_not_extrapolated(measure):
    found = measure("lever-row", seed=5, person=Person(reach=(0.5, 0.6), repetitions=5))
    run = found.runs[0]
    reached = np.max(run.truth["q_rad"].to_numpy())
    assert found.estimate.angle_rad[-1] - run.start_angle_rad <= reached
    assert np.all(found.estimate.raising_count >= 1)
    assert np.all(found.estimate.lowering_count >= 1)


def test_an_arm_that_never_moves_is_an_error(measure):
    with pytest.raises(ProfileError, match="moved through only"):
        measure("lever-row", seed=6, person=Person(repetitions=1, reach=(0.05, 0.06)))


def test_error_stays_near_the_cramer_rao_bound(measure):
    found = measure("lever-row", seed=7)
    run = found.runs[0]
    q = found.estimate.angle_rad - run.start_angle_rad
    least = cramer_rao_u_n(found.solved, [run.scenario.sensors.force.noise_n], q)
    error = found.estimate.static_n - run.scenario.static_force_n(q)
    assert np.sqrt(np.mean(error**2)) < 3.0 * np.sqrt(np.mean(least**2))


# Facts of the trade (common practice, no source): signs and shapes only.
def test_long_straight_arm_rises_and_mass_behind_the_pivot_drops_off(measure):
    rising = measure("rising-arm", seed=8).estimate.static_n[0]
    assert np.all(np.diff(rising) > 0)
    falling = measure("over-the-top", seed=8).estimate.static_n[0]
    assert falling[-1] < 0.6 * np.max(falling)
