"""What a partner is told, at every load: never the opposite of the need, never a leap, never more than is sure."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from feltload.coaching import (
    HAND_STEP_N,
    CapacityCurve,
    CapacitySource,
    HandAction,
    LoadLine,
    Phase,
    certain_help,
    in_hand_steps,
    plan_help,
)
from lever_profile import lever_profile
from made_capacity import made_capacity

LOADS_KG = np.arange(10.0, 81.0)


def _person(*force_n: float, u95_n: float = 30.0) -> CapacityCurve:
    """Errors alike over a stretch of the travel, as those of a few holds are."""
    made = made_capacity(force_n=force_n)
    apart = (made.angle_rad[:, None] - made.angle_rad[None, :]) / np.deg2rad(25.0)
    covariance = (0.5 * u95_n) ** 2 * np.exp(-0.5 * apart**2)
    return CapacityCurve(made.angle_rad, made.force_n, covariance, CapacitySource.HOLDS)


PERSONS = {
    "falling": _person(520.0, 180.0),
    "rising": _person(260.0, 480.0),
    "strong in the middle": _person(300.0, 460.0, 280.0),
    "weak in the middle": _person(420.0, 250.0, 420.0),
    "well known": _person(520.0, 180.0, u95_n=6.0),
    "hardly known": _person(520.0, 180.0, u95_n=90.0),
}


@pytest.mark.parametrize("person", PERSONS)
@pytest.mark.parametrize("phase", Phase)
@pytest.mark.parametrize("target", [0.6, 0.8])
def test_over_every_load_the_advice_is_sure_and_never_leaps(person: str, phase: Phase, target: float) -> None:
    line = LoadLine.of(lever_profile(peg_deg=20.0))
    plans = [plan_help(line, PERSONS[person], float(load), target) for load in LOADS_KG]
    needed = np.array([plan.needed_n(phase) for plan in plans])
    band = np.array([plan.u95_n for plan in plans])
    hand = np.array([plan.hand_n(phase) for plan in plans])
    # Rounding and shrinking take force away; neither makes a sign.
    assert np.all(hand * needed >= 0.0)
    assert np.all(np.abs(hand) <= np.abs(needed) + 0.5 * HAND_STEP_N)
    assert np.all(hand[np.abs(needed) <= band] == 0.0)
    assert np.all(hand % HAND_STEP_N == 0.0)
    # From one load to the next: twice what need and band change, and one step of the rounding.
    change = np.abs(np.diff(hand, axis=0))
    explained = (np.abs(np.diff(needed, axis=0)) + np.abs(np.diff(band, axis=0))).max(axis=1)
    assert np.all(change <= 2.0 * explained[:, None] + HAND_STEP_N)
    # Over all these loads it does go from resistance to help.
    assert hand.min() < 0.0 < hand.max()


@pytest.mark.parametrize("person", PERSONS)
def test_stretches_are_the_advice_and_nothing_is_between_help_and_resistance(person: str) -> None:
    line = LoadLine.of(lever_profile(peg_deg=20.0))
    for load in LOADS_KG:
        plan = plan_help(line, PERSONS[person], float(load), 0.7)
        for phase in Phase:
            stretches, hand = plan.stretches(phase), plan.hand_n(phase)
            assert stretches[0].from_rad == plan.angle_rad[0]
            assert stretches[-1].to_rad == plan.angle_rad[-1]
            for before, after in itertools.pairwise(stretches):
                assert before.to_rad == after.from_rad
                assert HandAction.LEAVE in (before.action, after.action)
            for stretch in stretches:
                assert stretch.from_rad < stretch.to_rad
                inside = (plan.angle_rad >= stretch.from_rad) & (plan.angle_rad < stretch.to_rad)
                sign = {HandAction.HELP: 1, HandAction.RESIST: -1, HandAction.LEAVE: 0}[stretch.action]
                assert np.all(np.sign(hand[inside]) == sign)
                assert stretch.peak_n == pytest.approx(np.abs(hand[inside]).max(initial=stretch.last_n))


def test_what_is_certain_by_hand() -> None:
    """With a band of 10 N: nothing up to 10 N, 2 (15 - 10) = 10 N at 15 N, the need itself from 20 N on."""
    angle = np.deg2rad(np.arange(0.0, 60.0))
    for need, certain in ((4.0, 0.0), (10.0, 0.0), (15.0, 10.0), (20.0, 20.0), (33.0, 33.0)):
        for sign in (1.0, -1.0):
            found = certain_help(angle, np.full(60, sign * need), np.full(60, 10.0))
            assert found == pytest.approx(np.full(60, sign * certain))


def test_what_is_needed_over_less_than_5_degrees_is_left_out() -> None:
    angle = np.deg2rad(np.arange(0.0, 61.0))

    def advice(first_deg: int, last_deg: int) -> np.ndarray:
        degrees = np.rad2deg(angle)
        inside = (degrees >= first_deg - 0.5) & (degrees <= last_deg + 0.5)
        return certain_help(angle, 60.0 * inside, np.full(61, 5.0))

    for first_deg, last_deg in ((28, 32), (0, 4), (56, 60)):
        assert np.all(advice(first_deg, last_deg) == 0.0)
    for first_deg, last_deg in ((28, 33), (0, 5), (55, 60)):
        found = advice(first_deg, last_deg)
        assert np.flatnonzero(found).tolist() == list(range(first_deg, last_deg + 1))
        assert found.max() == 60.0


@settings(max_examples=200, deadline=None)
@given(st.floats(-200.0, 200.0), st.floats(-200.0, 200.0))
def test_rounding_keeps_signs_and_order(first_n: float, second_n: float) -> None:
    low, high = in_hand_steps(np.sort([first_n, second_n]))
    assert low <= high
    assert low * min(first_n, second_n) >= 0.0 and high * max(first_n, second_n) >= 0.0
    assert abs(low - min(first_n, second_n)) <= 0.5 * HAND_STEP_N
