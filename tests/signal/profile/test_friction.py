"""Friction along the travel, against emulated machines with a place that rubs and without one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.core import Severity
from feltload.emulator import Friction, TightSpot, scenario, simulate
from feltload.signal.pipeline import estimate
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.facts import FindingFact
from feltload.signal.profile.findings import (
    friction_parts,
    mean_friction_n,
    summarize_findings,
    tight_spots,
)
from feltload.signal.profile.friction.band import FrictionBand
from feltload.signal.profile.friction.by_load import friction_by_load
from feltload.signal.profile.friction.tight_spots import find_tight_spots
from feltload.signal.session import Reference
from profiled_rigs import session_of

ANGLE = np.radians(np.linspace(-30.0, 38.0, 137))


@pytest.fixture
def rubbing():
    """Factory: profile of the rowing lever with a friction of one's own."""

    def make(friction: Friction, loads: tuple[float, ...]) -> ProfileEstimate:
        runs = []
        for number, load in enumerate(loads):
            scene = scenario("lever-row", load_kg=load)
            scene = replace(scene, machine=replace(scene.machine, friction=friction))
            runs.append(simulate(scene, seed=50 + number))
        sessions = [session_of(run, f"{run.load_kg:g} kg") for run in runs]
        return estimate(sessions, reference=Reference("lever", runs[0].start_angle_rad, 0.0))

    return make


def noise(u_n: float, length_rad: float = np.radians(3.0)) -> np.ndarray:
    """Covariance of an error that reaches as far along the travel as a spline resolves."""
    away = (ANGLE[:, None] - ANGLE[None, :]) / length_rad
    return u_n**2 * np.exp(-0.5 * away**2) + 1e-9 * np.eye(ANGLE.size)


def spots_of(friction_n: np.ndarray, u_n: float = 0.1):
    return find_tight_spots(ANGLE, friction_n, noise(u_n), coverage=1.96)


def bell(at_deg: float, width_deg: float) -> np.ndarray:
    return np.exp(-0.5 * ((ANGLE - np.radians(at_deg)) / np.radians(width_deg)) ** 2)


@pytest.mark.parametrize("width_deg", [2.0, 3.5, 5.0])
def test_a_bell_on_a_smooth_course_is_taken_apart_from_it(width_deg):
    x = (ANGLE - ANGLE[0]) / np.ptp(ANGLE)
    course = 4.0 + 1.5 * x - 2.0 * x**2
    (spot,) = spots_of(course + 7.5 * bell(17.0, width_deg))
    assert np.degrees(spot.angle_rad) == pytest.approx(17.0, abs=0.6)
    assert spot.excess_n == pytest.approx(7.5, rel=0.03)
    assert spot.friction_n == pytest.approx(7.5 + np.interp(np.radians(17.0), ANGLE, course), abs=0.1)
    # A bell is down to half its height at 1.177 standard deviations.
    half_deg = np.degrees(0.5 * (spot.high_rad - spot.low_rad))
    assert half_deg == pytest.approx(1.177 * width_deg, rel=0.1)
    assert spot.rest_n == pytest.approx(np.mean(course), abs=0.3)


def test_two_spots_are_two_and_one_is_one():
    assert len(spots_of(4.0 + 6.0 * bell(-12.0, 3.0) + 5.0 * bell(20.0, 3.3))) == 2
    assert len(spots_of(4.0 + 6.0 * bell(5.0, 3.3))) == 1


@pytest.mark.parametrize("cycles", [0.3, 0.6, 0.9])
def test_friction_that_varies_smoothly_has_no_spot(cycles):
    wave = np.sin(2.0 * np.pi * cycles * (ANGLE - ANGLE[0]) + 0.4)
    assert spots_of(9.0 * (1.0 + 0.3 * wave), u_n=0.01) == ()


def test_noise_is_no_spot():
    rng = np.random.default_rng(3)
    root = np.linalg.cholesky(noise(0.7))
    named = [bool(spots_of(5.0 + root @ rng.standard_normal(ANGLE.size), u_n=0.7)) for _ in range(200)]
    # Aim: one in twenty; of 200, eighteen are exceeded by chance once in seventy.
    assert sum(named) <= 18


def test_what_is_small_or_not_certain_is_not_reported():
    assert spots_of(4.0 + 0.9 * bell(5.0, 3.0), u_n=0.01) == ()
    assert spots_of(12.0 + 2.0 * bell(5.0, 3.0), u_n=0.01) == ()
    assert spots_of(4.0 + 3.0 * bell(5.0, 3.0), u_n=2.0) == ()


def test_a_machine_that_binds_in_one_place_says_where(measure):
    """The invented arm has 4 N of friction, and 7.5 N more in a bell at 17 degrees."""
    found = measure("tight-spot", seed=3)
    made = found.estimate
    (spot,) = tight_spots(made)
    assert np.degrees(spot.angle_rad) == pytest.approx(17.0, abs=1.0)
    assert spot.friction_n == pytest.approx(11.5, abs=spot.friction_u95_n)
    assert spot.excess_n == pytest.approx(7.5, abs=2.0 * spot.excess_u95_n)
    assert spot.rest_n == pytest.approx(4.0, abs=0.3)
    (fact,) = [fact for fact in summarize_findings(made) if fact.kind is FindingFact.TIGHT_SPOT]
    assert fact.severity is Severity.CAUTION
    assert fact.figure("travel_share") == pytest.approx(39.0 / 66.0, abs=0.03)
    # The rest of the profile does not suffer from it.
    assert found.static_error() < 0.001


@pytest.mark.parametrize("name", ["lever-row", "rising-arm", "four-bar"])
@pytest.mark.parametrize("sensors", ["ordinary", "cheap"])
def test_the_band_of_friction_holds_the_truth(measure, name, sensors):
    inside = []
    for seed in (21, 22):
        found = measure(name, sensors=sensors, seed=seed, systematic=True)
        made = found.estimate
        truth = found.runs[0].scenario.friction_n(made.angle_rad - made.start_angle_rad)
        inside.append(np.abs(made.friction_n[0] - truth) <= made.friction_u95_n[0])
        assert tight_spots(made) == ()
        mean_n, u95_n = mean_friction_n(made)
        assert abs(mean_n - np.mean(truth)) < 1.5 * u95_n
        assert np.mean(made.friction_u95_n) < 0.25 * mean_n
    assert np.mean(np.concatenate(inside)) > 0.75


def test_rates_that_hardly_vary_leave_viscous_friction_open(measure):
    """At one slow tempo the viscous part looks like dry friction: the band says so."""
    found = measure("lever-row", sensors="cheap", tempo="slow", seed=4)
    made = found.estimate
    truth = found.runs[0].scenario.friction_n(made.angle_rad - made.start_angle_rad)
    assert np.mean(np.abs(made.friction_n[0] - truth) <= made.friction_u95_n[0]) > 0.9


def test_a_spot_is_its_own_physics():
    """What the emulated machine adds: a bell, once per way, whatever the load."""
    scene = scenario("tight-spot")
    q = np.radians(np.linspace(0.0, 66.0, 200))
    spot = TightSpot(0.5, 3.0, 0.05)
    plain, bound = Friction(4.0, 0.1), Friction(4.0, 0.1, spots=(spot,))
    for load_kg in (0.0, 40.0):
        added = bound.dry_n(q, load_kg) - plain.dry_n(q, load_kg)
        assert added == pytest.approx(3.0 * np.exp(-0.5 * ((q - 0.5) / 0.05) ** 2))
    raising = replace(scene.machine.friction, spots=(spot,)).force_n(np.array([0.5]), np.array([0.4]), 20.0)
    lowering = replace(scene.machine.friction, spots=(spot,)).force_n(np.array([0.5]), np.array([-0.4]), 20.0)
    assert raising + lowering == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("per_load", [0.0, 0.2])
def test_two_loads_tell_what_grows_from_what_does_not(rubbing, per_load):
    """Truth: 6 N whatever the load, more in one place, and nothing or 0.2 N for every kilogram."""
    found = rubbing(
        Friction(6.0, per_load, spots=(TightSpot(0.6, 5.0, np.radians(4.0)),)), loads=(15.0, 45.0)
    )
    parts = friction_parts(found)
    spot = 5.0 * np.exp(-0.5 * ((found.angle_rad - found.start_angle_rad - 0.6) / np.radians(4.0)) ** 2)
    assert parts.parted
    assert parts.grows == (per_load > 0.0)
    assert parts.steady_n == pytest.approx(6.0 + np.mean(spot), abs=1.5 * parts.steady_u95_n)
    assert parts.per_kg_n == pytest.approx(per_load, abs=1.5 * parts.per_kg_u95_n)
    assert parts.per_kg_u95_n < 0.02
    # The place is tight with either load, and by as much.
    assert [len(tight_spots(found, k)) for k in (0, 1)] == [1, 1]
    # By position: what does not grow has the spot, what grows has none.
    assert np.ptp(found.model.friction_n) > 4.0
    assert np.ptp(found.model.friction_n_per_kg) < 0.03


def test_one_load_or_two_that_are_nearly_one_tell_nothing(rubbing):
    one = friction_parts(rubbing(Friction(6.0, 0.1), loads=(40.0,)))
    assert not one.parted
    assert np.isnan(one.steady_n)
    close = friction_parts(rubbing(Friction(6.0, 0.1), loads=(40.0, 40.5)))
    assert not close.parted
    assert close.steady_n == pytest.approx(6.0, abs=1.5 * close.steady_u95_n)


def test_the_line_through_three_loads_by_hand():
    loads = np.array([10.0, 20.0, 30.0])
    friction = np.array([[5.0], [7.5], [9.0]]) + np.zeros((3, 4))
    # Every load off by 0.1 N along its whole travel, apart from the others.
    covariance = np.kron(0.01 * np.eye(3), np.ones((4, 4)))
    parts = friction_by_load(loads, friction, FrictionBand(covariance, np.full((3, 4), 0.196)))
    # Least squares: slope (9.0 - 5.0) / 20, through the mean 43 / 6 at 20 kg; u of the slope 0.1 / sqrt(200), of the
    # intercept 0.1 sqrt(1 / 3 + 400 / 200).
    assert parts.per_kg_n == pytest.approx(0.2)
    assert parts.steady_n == pytest.approx(43.0 / 6.0 - 4.0)
    assert parts.per_kg_u95_n == pytest.approx(1.96 * 0.1 / np.sqrt(200.0))
    assert parts.steady_u95_n == pytest.approx(1.96 * 0.1 * np.sqrt(1.0 / 3.0 + 2.0))
