"""Holds and curves at their limits, worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.coaching import (
    CapacityError,
    CapacityFact,
    Hold,
    capacity_from_holds,
    capacity_from_repetitions,
    find_holds,
)

RATE_HZ = 100


def _efforts(*efforts: tuple[float, float, float]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Two seconds of rest before each effort of four seconds: force, start and travel of the lever in degrees."""
    angle, force = [], []
    for newtons, start_deg, travel_deg in efforts:
        moving = start_deg + travel_deg * np.linspace(0.0, 1.0, 4 * RATE_HZ)
        angle += [np.full(2 * RATE_HZ, start_deg), moving]
        force += [np.zeros(2 * RATE_HZ), np.full(4 * RATE_HZ, newtons)]
    a, f = np.deg2rad(np.concatenate(angle)), np.concatenate([*force])
    return np.arange(a.size) / RATE_HZ, a, np.append(f[:-1], 0.0)


def _hold(angle_deg: float, force_n: float, order: int = 1, u_n: float = 0.0) -> Hold:
    return Hold(np.deg2rad(angle_deg), force_n, u_n, 10.0 * order, order, 0.0)


@pytest.mark.parametrize(("travel_deg", "kept"), [(5.9, True), (6.1, False)])
def test_the_lever_may_move_a_degree_and_a_half_within_the_second(travel_deg, kept) -> None:
    """Evenly over four seconds: a quarter of the travel in each."""
    holds, left_out = find_holds(*_efforts((400.0, 0.0, 0.0), (400.0, 20.0, travel_deg)))
    assert len(holds) == 1 + kept
    assert [fact.kind for fact in left_out] == [CapacityFact.HOLD_MOVED] * (not kept)


@pytest.mark.parametrize(("travel_deg", "failed"), [(14.5, True), (15.5, False)])
def test_an_effort_through_more_than_15_degrees_is_a_repetition(travel_deg, failed) -> None:
    holds, left_out = find_holds(*_efforts((400.0, 0.0, 0.0), (400.0, 20.0, travel_deg)))
    assert len(holds) == 1 and len(left_out) == failed


@pytest.mark.parametrize(("weaker_n", "count"), [(98.0, 1), (102.0, 2)])
def test_an_effort_is_above_a_quarter_of_the_greatest_force(weaker_n, count) -> None:
    holds, _ = find_holds(*_efforts((400.0, 0.0, 0.0), (weaker_n, 20.0, 0.0)))
    assert len(holds) == count


def test_the_best_second_counts_with_its_wobble() -> None:
    """300 N, a second of 380 and 420 N in turn, 300 N again; a second has eight independent values."""
    time, angle, force = _efforts((300.0, 10.0, 0.0), (100.0, 30.0, 0.0))
    best = slice(4 * RATE_HZ, 5 * RATE_HZ)
    force[best] = 400.0 + 20.0 * np.tile([1.0, -1.0], RATE_HZ // 2)
    first, second = find_holds(time, angle, force, threshold=0.2)[0]
    assert first.force_n == pytest.approx(400.0)
    assert first.start_s == pytest.approx(4.0)
    assert first.u_n == pytest.approx(20.0 / 8.0**0.5)
    assert (first.order, second.order) == (1, 2)
    assert np.rad2deg(first.angle_rad) == pytest.approx(10.0)
    assert second.u_n == pytest.approx(0.0, abs=1e-9)


def test_a_stronger_second_in_which_the_lever_moved_does_not_count() -> None:
    """500 N over a second and a half while the lever gives way by 3°, then 400 N with the lever still."""
    time, angle, force = _efforts((400.0, 10.0, 0.0))
    giving_way = slice(2 * RATE_HZ, 2 * RATE_HZ + 150)
    force[giving_way] = 500.0
    angle[giving_way] = np.deg2rad(np.linspace(7.0, 10.0, 150))
    (hold,), left_out = find_holds(time, angle, force)
    # A second may hold the last 1.5° of giving way: 75 of its 100 samples, at 500 N.
    assert left_out == ()
    assert np.rad2deg(hold.movement_rad) == pytest.approx(1.5, abs=0.03)
    assert hold.force_n == pytest.approx(475.0, abs=1.0)
    assert hold.start_s == pytest.approx(2.75, abs=0.02)


def test_efforts_that_moved_are_told_where_they_were_and_the_first_is_named() -> None:
    """Two efforts of four seconds, from 2 s and from 8 s on, through 8° and 12°: a quarter of it in a second."""
    _, left_out = find_holds(*_efforts((400.0, 0.0, 8.0), (400.0, 20.0, 12.0), (400.0, 30.0, 0.0)))
    assert [fact.span_s for fact in left_out] == [pytest.approx((2.0, 5.99)), pytest.approx((8.0, 11.99))]
    moved_deg = [np.rad2deg(fact.figure("movement_rad")) for fact in left_out]
    assert moved_deg == pytest.approx([8.0 * 99 / 399, 12.0 * 99 / 399])
    with pytest.raises(CapacityError, match=r"effort at 2\.0 s is no hold: the lever moved 2\.0°"):
        find_holds(*_efforts((400.0, 0.0, 8.0), (400.0, 20.0, 12.0)))


def test_a_hold_that_gave_way_is_told_by_its_steadiest_second() -> None:
    """Two seconds at 4° a second, then two at 2°: no second is still, and the best of them moves by 2°."""
    time, angle, force = _efforts((400.0, 0.0, 0.0), (400.0, 30.0, 0.0))
    angle[2 * RATE_HZ : 6 * RATE_HZ] = np.deg2rad(np.interp(np.arange(400), [0, 200, 400], [0.0, 8.0, 12.0]))
    (fact,) = find_holds(time, angle, force)[1]
    assert np.rad2deg(fact.figure("movement_rad")) == pytest.approx(2.0, abs=0.03)


def test_the_best_try_of_each_position_counts() -> None:
    """In whichever order: 400, 390 and 380 N, each 20 N above the other try there, with 1 N of wobble."""
    holds = [_hold(d, force, order, u_n=1.0) for order, (d, force) in enumerate(
        [(0.0, 380.0), (30.0, 390.0), (60.0, 380.0), (0.0, 400.0), (30.0, 370.0), (60.0, 360.0)], start=1
    )]  # fmt: skip
    curve = capacity_from_holds(holds, u_scale=0.0)
    assert curve.force_n[[0, 30, 60]] == pytest.approx([400.0, 390.0, 380.0], abs=3.0)


def test_a_hold_left_out_for_pain_never_raises_the_curve() -> None:
    """A weak and painful 40° between 400 N at the others: without it the curve would be level at 400 N."""
    holds = [_hold(d, f, u_n=2.0) for d, f in ((0.0, 400.0), (20.0, 400.0), (40.0, 250.0), (60.0, 400.0))]
    plain = capacity_from_holds(holds)
    assert plain.all_holds is None and plain.unmarked == (plain,)
    assert CapacityFact.PAINFUL_HOLDS_UNUSED not in [fact.kind for fact in plain.warnings]
    sore = capacity_from_holds(holds, painful=[tuple(np.deg2rad([35.0, 45.0]))])
    assert sore.all_holds is not None and sore.lowest_n is not None
    assert sore.all_holds.force_n == pytest.approx(plain.force_n)
    itself, every, lowest = sore.unmarked
    assert itself is sore and every is sore.all_holds
    # With and without the weak position: nowhere more than either.
    without = capacity_from_holds([holds[0], holds[1], holds[3]])
    assert lowest.force_n == pytest.approx(np.minimum(plain.force_n, without.force_n))
    assert np.all(sore.force_n <= plain.force_n + 1e-9)
    assert sore.force_n[[0, 40]] == pytest.approx([400.0, 250.0], abs=10.0)


def test_an_effort_of_less_than_a_second_is_none() -> None:
    time, angle, force = _efforts((400.0, 0.0, 0.0))
    force[force.size // 2 :] = 0.0
    assert len(find_holds(time, angle, force)[0]) == 1
    force[int(2.9 * RATE_HZ) :] = 0.0
    with pytest.raises(CapacityError, match="no effort of a second"):
        find_holds(time, angle, force)


@pytest.mark.parametrize(("apart_deg", "positions"), [(2.9, 2), (3.1, 3)])
def test_tries_within_three_degrees_are_of_one_position(apart_deg, positions) -> None:
    holds = [_hold(0.0, 400.0), _hold(apart_deg, 410.0), _hold(20.0, 380.0)]
    if positions == 3:
        assert np.rad2deg(capacity_from_holds(holds).angle_rad[[0, -1]]) == pytest.approx([0.0, 20.0])
    else:
        with pytest.raises(CapacityError, match=r"2 position.*410 N at 1°, 380 N at 20°"):
            capacity_from_holds(holds)


@pytest.mark.parametrize(("later", "tired"), [(0.96, False), (0.94, True)])
def test_later_tries_below_95_percent_are_those_of_a_tired_person(later, tired) -> None:
    holds = [
        _hold(d, 400.0 * share, order=3 * again + i)
        for again, share in enumerate((1.0, later))
        for i, d in enumerate((0.0, 20.0, 40.0), start=1)
    ]
    # The order of the list does not matter, that of the session does.
    curve = capacity_from_holds(holds[::-1])
    assert (CapacityFact.LATER_TRIES_WEAKER in [fact.kind for fact in curve.warnings]) == tired


@pytest.mark.parametrize(("positions", "tired"), [(1, False), (2, True)])
def test_two_weaker_tries_are_those_of_a_tired_person(positions, tired) -> None:
    holds = [_hold(d, 400.0) for d in (0.0, 20.0, 40.0)]
    again = [_hold(20.0 * k, 360.0, order=2) for k in range(positions)]
    facts = [fact.kind for fact in capacity_from_holds(holds + again).warnings]
    assert (CapacityFact.LATER_TRIES_WEAKER in facts) == tired


@pytest.mark.parametrize(("tries", "assumed"), [(1, True), (2, True), (3, False)])
def test_the_spread_of_tries_is_assumed_until_two_degrees_of_freedom(tries, assumed) -> None:
    holds = [_hold(0.0, 400.0 + k, order=k) for k in range(1, tries + 1)] + [
        _hold(20.0, 380.0),
        _hold(40.0, 350.0),
    ]
    facts = [
        fact
        for fact in capacity_from_holds(holds).warnings
        if fact.kind is CapacityFact.SPREAD_OF_TRIES_ASSUMED
    ]
    assert [fact.figure("spread") for fact in facts] == [0.05] * assumed


def _middle_u(spread: float, tries: int = 4, positions: int = 5) -> float:
    """Relative uncertainty in the middle of the curve of an even person, `tries` alternating about the same force."""
    size = spread * np.sqrt((tries - 1) / tries)
    holds = [
        _hold(15.0 * k, 400.0 * (1.0 + size * (-1) ** again), order=1 + again)
        for k in range(positions)
        for again in range(tries)
    ]
    curve = capacity_from_holds(holds, u_scale=0.0)
    middle = curve.angle_rad.size // 2
    return float(curve.u_n[middle] / curve.force_n[middle])


@pytest.mark.parametrize("spread", [0.02, 0.05])
def test_a_curve_is_as_uncertain_as_the_best_tries_on_it(spread) -> None:
    """No less than the mean of all five positions, no more than one of them alone; either is the spread over two."""
    assert spread / 2.0 / 5.0**0.5 < _middle_u(spread) < 1.01 * spread / 2.0


def test_the_calibration_is_common_to_the_whole_curve() -> None:
    holds = [_hold(d, 400.0) for d in (0.0, 20.0, 40.0)]
    plain, scaled = (capacity_from_holds(holds, u_scale=u) for u in (0.0, 0.02))
    added = scaled.covariance_n2 - plain.covariance_n2
    assert added == pytest.approx(0.02**2 * np.outer(plain.force_n, plain.force_n))


def test_envelope_and_band_of_repetitions_by_hand() -> None:
    """200 N and 210 N: a standard deviation of 7.07 N, over the root of two 5 N, going together; 0.5 % of 210 N."""
    angle = np.deg2rad(np.linspace(0.0, 30.0, 61))
    curve = capacity_from_repetitions([angle, angle[::-1]], [np.full(61, 200.0), np.full(61, 210.0)])
    assert curve.force_n == pytest.approx(np.full(31, 210.0))
    assert curve.covariance_n2 == pytest.approx(np.full((31, 31), 25.0 + 1.05**2))
    assert curve.u95_n == pytest.approx(2.0 * curve.u_n)


@pytest.mark.parametrize(("shared_deg", "enough"), [(4.9, False), (5.1, True)])
def test_repetitions_share_five_degrees(shared_deg, enough) -> None:
    first = np.deg2rad(np.linspace(0.0, 20.0, 50))
    second = first + np.deg2rad(20.0 - shared_deg)
    force = np.full(50, 300.0)
    if enough:
        curve = capacity_from_repetitions([first, second], [force, force])
        assert np.rad2deg(curve.angle_rad[[0, -1]]) == pytest.approx([20.0 - shared_deg, 20.0])
    else:
        with pytest.raises(CapacityError, match="less than 5°"):
            capacity_from_repetitions([first, second], [force, force])


def test_a_force_between_and_at_the_ends_of_a_curve() -> None:
    angle = np.deg2rad(np.linspace(0.0, 30.0, 61))
    curve = capacity_from_repetitions([angle, angle], [100.0 + 10.0 * np.rad2deg(angle)] * 2)
    force, covariance = curve.at(np.deg2rad([0.0, 10.5, 30.0]))
    assert force == pytest.approx([100.0, 205.0, 400.0])
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.5, 1.025, 2.0])
    assert replace(curve, covariance_n2=0.25 * np.eye(31)).u95_n == pytest.approx(np.ones(31))
    assert curve.strongest == 30
    # The strongest position is named among those that do not hurt, and among all where all hurt.
    assert curve.marked([tuple(np.deg2rad([19.5, 31.0]))]).strongest == 19
    assert curve.marked([tuple(np.deg2rad([-1.0, 31.0]))]).strongest == 30
    assert np.isnan(curve.at(np.deg2rad([-0.1, 30.1]))[0]).all()
