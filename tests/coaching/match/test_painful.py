"""A painful range on emulated clients and machines: nobody works in it, and nothing suggested rises because of it."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from feltload.coaching import (
    CapacityCurve,
    Change,
    CoachingError,
    Hold,
    LoadLine,
    OverlapError,
    PainfulTravelError,
    capacity_from_holds,
    compare_changes,
    greatest_load,
    load_for_demand,
    match_capacity,
    plan_help,
)
from lever_profile import lever_profile
from made_capacity import made_capacity

LOADS_KG = np.arange(10.0, 81.0, 1.0)
RANGES_DEG = ((20, 40), (-30, -5), (5, 15), (30, 60), (-10, 0))
PEGS_DEG = (-40.0, 0.0, 40.0)
"""Invented levers, hardest early, in the middle and late."""


@pytest.fixture(autouse=True)
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draws only locate the limiting position, which nothing here is about."""
    monkeypatch.setattr("feltload.coaching.match.matching.DRAWS", 2)


@cache
def line_of(peg_deg: float) -> LoadLine:
    return LoadLine.of(lever_profile(peg_deg=peg_deg))


@cache
def holds(seed: int) -> tuple[Hold, ...]:
    """Two tries at each of seven positions of an invented person, whose strength falls, rises or bends."""
    generator = np.random.default_rng(seed)
    angle_deg = np.linspace(-22.0, 42.0, 7)
    course = np.interp(angle_deg, [-22.0, 10.0, 42.0], generator.uniform(250.0, 480.0, 3))
    return tuple(
        Hold(np.deg2rad(at), float(force * generator.normal(1, 0.04)), 1.0, 0.0, number, 0.0)
        for number, (at, force) in enumerate(zip(np.tile(angle_deg, 2), np.tile(course, 2), strict=True), 1)
    )


@cache
def person(
    seed: int, span_deg: tuple[int, int] | None, *, marked_later: bool = False
) -> CapacityCurve | None:
    """Measured with the range named, or named for a capacity of before; None where too little is left to measure."""
    span = [] if span_deg is None else [tuple(np.deg2rad(span_deg))]
    try:
        if marked_later:
            return capacity_from_holds(holds(seed)).marked(span)
        return capacity_from_holds(holds(seed), painful=span)
    except CoachingError:
        return None


@pytest.mark.parametrize("marked_later", [False, True], ids=["measured with it", "marked later"])
@pytest.mark.parametrize("span_deg", RANGES_DEG, ids=str)
def test_more_pain_never_means_more_load(span_deg: tuple[int, int], marked_later: bool) -> None:
    low, high = np.deg2rad(span_deg)
    seen = 0
    for seed, peg_deg in enumerate(PEGS_DEG):
        line, free = line_of(peg_deg), person(seed, None)
        sore = person(seed, span_deg, marked_later=marked_later)
        assert free is not None
        if sore is None:
            continue
        assert _plates(line, sore) <= _plates(line, free) + 1e-6
        for load_kg in (
            LOADS_KG[seed :: 2 * len(PEGS_DEG)] if marked_later else LOADS_KG[seed :: len(PEGS_DEG)]
        ):
            before = match_capacity(line, free, load_kg).repetitions
            after = match_capacity(line, sore, load_kg)
            # Nobody works in the range, nor at its edge.
            assert not np.any((after.angle_rad > low) & (after.angle_rad < high))
            got = after.repetitions
            assert got.low <= before.low and got.middle <= before.middle and got.high <= before.high
            # At no position is a partner told to add more than without the mark.
            for target in (0.7, None) if marked_later else (0.7,):
                plan, was = plan_help(line, sore, load_kg, target), plan_help(line, free, load_kg, target)
                inside = (plan.angle_rad >= was.angle_rad[0]) & (plan.angle_rad <= was.angle_rad[-1])
                assert np.all(
                    plan.help_n >= np.interp(plan.angle_rad, was.angle_rad, was.help_n) - 0.5 * ~inside - 0.1
                )
            seen += 1
    assert seen > 20


def _plates(line: LoadLine, capacity: CapacityCurve) -> float:
    try:
        return load_for_demand(line, capacity, 0.7)
    except CoachingError:
        return 0.0


def test_another_mark_never_means_more_either() -> None:
    line, free = line_of(0.0), made_capacity(force_n=(420.0, 250.0, 300.0))
    one = free.marked([tuple(np.deg2rad([20.0, 30.0]))])
    two = one.marked([tuple(np.deg2rad([-20.0, -10.0]))])
    for load_kg in LOADS_KG:
        reps = [match_capacity(line, each, load_kg).repetitions.middle for each in (free, one, two)]
        assert reps == sorted(reps, reverse=True)
    plates = [load_for_demand(line, each, 0.7) for each in (free, one, two)]
    assert plates == sorted(plates, reverse=True)


def test_a_larger_mark_means_no_more_load_nor_travel_than_the_smaller_one_when_measured_again() -> None:
    """Holds left out bend the curve; leaving out more of them may not bend it back up."""
    compared = 0
    for seed in range(8):
        line = line_of(PEGS_DEG[seed % 3])
        for small, large in (((-25, -7), (-25, 4)), ((18, 23), (8, 45)), ((0, 10), (-12, 21))):
            less, more = person(seed, small), person(seed, large)
            if less is None or more is None:
                continue
            # A step of the curves' grids is worth a few grams.
            assert _plates(line, more) <= _plates(line, less) + 0.01
            one, two = (match_capacity(line, each, 40.0) for each in (less, more))
            assert two.repetitions.middle <= one.repetitions.middle + 0.01
            widths = [np.ptp(match.travel.work_rad) for match in (one, two)]
            assert widths[1] <= widths[0] + 1e-9
            compared += 1
    assert compared >= 16


@pytest.mark.parametrize(
    ("span_deg", "work_deg", "start", "stop"),
    [
        ((20, 40), (-25, 18), False, True),
        ((-30, -10), (-8, 45), True, False),
        # In the middle: the larger piece.
        ((5, 15), (-25, 3), False, True),
        ((-10, 0), (2, 45), True, False),
        # Outside the measured travel: nothing is cut.
        ((50, 60), (-25, 45), False, False),
    ],
)
def test_the_larger_piece_outside_is_used(span_deg, work_deg, start, stop) -> None:
    travel = match_capacity(line_of(0.0), made_capacity().marked([tuple(np.deg2rad(span_deg))]), 40.0).travel
    assert np.rad2deg(travel.work_rad) == pytest.approx(work_deg)
    assert (travel.start_rad is not None, travel.stop_rad is not None) == (start, stop)
    assert travel.one_sided == (span_deg in ((5, 15), (-10, 0)))
    assert travel.whole == (span_deg == (50, 60))


def test_no_change_has_the_client_work_where_it_hurts() -> None:
    line, sore = line_of(0.0), made_capacity().marked([tuple(np.deg2rad([5.0, 15.0]))])
    for change in (
        Change.shorter_range(line, 40.0, np.deg2rad(25.0)),
        Change.shorter_range(line, 40.0, np.deg2rad(10.0)),
        Change.higher_start(line, 40.0, np.deg2rad(10.0)),
    ):
        with pytest.raises(PainfulTravelError, match="painful"):
            compare_changes(line, sore, 40.0, [change])
    # Above all of it, the start itself keeps out; below, it goes with the stop.
    above, below = (
        compare_changes(line, sore, 40.0, [Change.higher_start(line, 40.0, np.deg2rad(at))])[1].match
        for at in (18.0, -20.0)
    )
    assert np.rad2deg(above.travel.work_rad) == pytest.approx((18.0, 45.0))
    assert np.rad2deg(below.travel.work_rad) == pytest.approx((-20.0, 3.0))
    with pytest.raises(PainfulTravelError):
        match_capacity(line, sore, 40.0).repetitions_within(to_rad=np.deg2rad(20.0))
    with pytest.raises(PainfulTravelError, match="no load is given there"):
        greatest_load(line, 300.0, *np.deg2rad([0.0, 20.0]), painful=sore.painful_rad)


def test_a_machine_that_hurts_nearly_everywhere_is_left_out() -> None:
    sore = made_capacity().marked([tuple(np.deg2rad([-18.0, 40.0]))])
    with pytest.raises(PainfulTravelError, match="licensed clinician"):
        match_capacity(line_of(0.0), sore, 40.0)


def test_travel_where_capacity_is_not_known_has_no_figures() -> None:
    line, part = line_of(0.0), made_capacity(-25.0, 20.0)
    travel = match_capacity(line, part, 40.0).travel
    assert np.rad2deg(travel.gaps_rad) == pytest.approx(np.array([[20.0, 45.0]]))
    assert travel.turn_rad == pytest.approx(np.deg2rad(20.0)) and not travel.keeps_out and not travel.whole
    with pytest.raises(OverlapError, match="not measured"):
        compare_changes(line, part, 40.0, [Change.shorter_range(line, 40.0, np.deg2rad(30.0))])
    # What is missing beside each end is where a stop takes the force, not a gap.
    ends = match_capacity(line, made_capacity(-21.0, 41.0), 40.0).travel
    assert ends.gaps_rad == () and len(ends.unknown_rad) == 2 and not ends.whole
