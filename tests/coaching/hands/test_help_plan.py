"""The plan of help by hand."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import (
    USUAL_TARGET,
    AddedForce,
    Caution,
    CoachingError,
    Course,
    HandAction,
    HelpStretch,
    LoadLine,
    Phase,
    plan_help,
)
from lever_profile import lever_profile
from made_capacity import made_capacity
from made_plan import made_plan


def test_plan_is_load_minus_target_times_capacity() -> None:
    """Help in the shortened position, resistance in the lengthened one (common practice, no source)."""
    profile = lever_profile()
    line = LoadLine.of(profile)
    capacity = made_capacity(force_n=(520.0, 180.0))
    plan = plan_help(line, capacity, 40.0, 0.7)
    by_hand = np.interp(plan.angle_rad, profile.angle_rad, line.raising_n(40.0) - 0.7 * capacity.force_n)
    assert plan.help_n == pytest.approx(by_hand, abs=0.5)
    stretches = plan.stretches(Phase.CONCENTRIC)
    assert [stretch.action for stretch in stretches] == [
        HandAction.RESIST,
        HandAction.LEAVE,
        HandAction.HELP,
    ]
    assert stretches[-1].course == Course.BUILDING_UP
    # Friction of 6 N helps the client to lower as it hinders raising.
    assert plan.help_n - plan.lowering_help_n == pytest.approx(np.full(plan.angle_rad.size, 12.0))
    assert plan.cautions == (Caution.HELP_BY_HAND,)
    with pytest.raises(CoachingError):
        plan_help(line, capacity, 40.0, 1.4)


@pytest.mark.parametrize("load_kg", [5.0, 20.0, 40.0, 80.0])
def test_where_no_target_is_named_hands_make_no_load_harder_than_it_was_chosen(load_kg: float) -> None:
    line, capacity = LoadLine.of(lever_profile()), made_capacity(force_n=(520.0, 180.0))
    plan = plan_help(line, capacity, load_kg)
    has = capacity.at(plan.angle_rad)[0]
    asked = np.interp(plan.angle_rad, line.angle_rad, line.raising_n(load_kg)) / has
    assert plan.target == pytest.approx(min(USUAL_TARGET, asked.max()))
    # What is left of the load after the hands, at every position.
    assert np.all(asked - plan.help_n / has <= asked.max() + 1e-9)


def test_nothing_is_added_by_hand_beside_a_painful_range_unless_it_is_asked_for() -> None:
    line = LoadLine.of(lever_profile())
    sore = made_capacity(force_n=(520.0, 180.0)).marked([(np.deg2rad(35.0), np.deg2rad(46.0))])
    plan, asked_for = plan_help(line, sore, 40.0), plan_help(line, sore, 40.0, 0.7)
    assert plan.helps_only and not asked_for.helps_only
    assert min(plan.help_n.min(), plan.lowering_help_n.min()) == 0.0
    assert asked_for.help_n.min() < -20.0
    # Help stays as it is.
    helped = plan.help_n > 0.0
    by_hand = np.interp(plan.angle_rad, line.angle_rad, line.raising_n(40.0))
    assert plan.help_n[helped] == pytest.approx((by_hand - plan.target * sore.at(plan.angle_rad)[0])[helped])


def test_a_machine_that_asks_for_nothing_needs_a_target() -> None:
    profile = lever_profile()
    lifting = LoadLine.of(profile).with_forces(
        [AddedForce("band", profile.angle_rad[:1], np.array([-900.0]))]
    )
    with pytest.raises(CoachingError, match="asks for nothing"):
        plan_help(lifting, made_capacity(), 40.0)
    assert plan_help(lifting, made_capacity(), 40.0, 0.5).target == 0.5


@pytest.mark.parametrize(
    ("first_n", "peak_n", "last_n", "course"),
    [
        (20.0, 20.0, 18.0, Course.STEADY),
        (10.0, 30.0, 30.0, Course.BUILDING_UP),
        (30.0, 30.0, 10.0, Course.EASING_OFF),
        (10.0, 30.0, 12.0, Course.PEAK_INSIDE),
    ],
)
def test_course_of_a_stretch(first_n, peak_n, last_n, course) -> None:
    stretch = HelpStretch(0.0, 0.5, HandAction.HELP, 20.0, peak_n, first_n, last_n, 0.2, 10.0)
    assert stretch.course == course


def test_more_than_a_hand_holds_is_known() -> None:
    line = LoadLine.of(lever_profile())
    assert plan_help(line, made_capacity(force_n=(150.0, 100.0)), 40.0, 0.7).beyond_a_hand
    assert not plan_help(line, made_capacity(force_n=(420.0, 300.0)), 40.0, 0.7).beyond_a_hand


def test_band_of_a_plan_by_hand() -> None:
    """At 0° 6 N of the load, and 0.7 x 2 % of a capacity of 520 - 340 x 25/70 = 398.6 N: 2 hypot(6, 5.58) = 16.4 N."""
    plan = plan_help(LoadLine.of(lever_profile(u_n=6.0)), made_capacity(force_n=(520.0, 180.0)), 40.0, 0.7)
    assert plan.u95_n[25] == pytest.approx(16.388, abs=0.002)
    assert plan.to_frame()["u95_n"].iloc[25] == plan.u95_n[25]
    # Every stretch has the widest band within it: at its start, where this person is stronger.
    for stretch in plan.stretches(Phase.CONCENTRIC):
        assert stretch.u95_n == plan.u95_n[plan.angle_rad == stretch.from_rad]


HELP, RESIST, LEAVE = HandAction.HELP, HandAction.RESIST, HandAction.LEAVE


@pytest.mark.parametrize(
    ("at_deg", "help_n", "told"),
    [
        # One thing throughout; 2 N are within the band.
        ([0.0], [40.0], [(-25, 45, HELP, 40, 40, 40, 40, -25)]),
        ([0.0], [-40.0], [(-25, 45, RESIST, 40, 40, 40, 40, -25)]),
        ([0.0], [2.0], [(-25, 45, LEAVE, 0, 0, 0, 0, -25)]),
        # One newton a degree: the outermost 5° count as what holds through them, 35 N and 25 N. At 6 N only 2 N are
        # certain, which is no step; at 7 N 4 N are, which is one.
        (
            [-25.0, 45.0],
            [-40.0, 30.0],
            [
                (-25, 9, RESIST, 25, 35, 35, 5, -25),
                (9, 22, LEAVE, 0, 0, 0, 0, 9),
                (22, 45, HELP, 20, 25, 5, 25, 38),
            ],
        ),
        # Two newtons a degree up to 50 N at 10°: 44 N hold through 5°, from 7° on, which is 45 N in steps.
        (
            [-25.0, -15.0, 10.0, 35.0, 45.0],
            [0.0, 0.0, 50.0, 0.0, 0.0],
            [
                (-25, -11, LEAVE, 0, 0, 0, 0, -25),
                (-11, 32, HELP, 30, 45, 5, 5, 7),
                (32, 45, LEAVE, 0, 0, 0, 0, 32),
            ],
        ),
        # A jerk of 3° is followed by nobody; the same over 6° is.
        ([9.0, 10.0, 12.0, 13.0], [0.0, 60.0, 60.0, 0.0], [(-25, 45, LEAVE, 0, 0, 0, 0, -25)]),
        (
            [9.0, 10.0, 16.0, 17.0],
            [0.0, 60.0, 60.0, 0.0],
            [
                (-25, 10, LEAVE, 0, 0, 0, 0, -25),
                (10, 17, HELP, 60, 60, 60, 60, 10),
                (17, 45, LEAVE, 0, 0, 0, 0, 17),
            ],
        ),
    ],
)
def test_a_curve_of_needed_help_as_a_partner_is_told(at_deg, help_n, told) -> None:
    """Band of 5 N everywhere: worked by hand from needed help to steps of 5 N."""
    found = [
        (
            round(np.rad2deg(stretch.from_rad)),
            round(np.rad2deg(stretch.to_rad)),
            stretch.action,
            stretch.mean_n,
            stretch.peak_n,
            stretch.first_n,
            stretch.last_n,
            round(np.rad2deg(stretch.peak_rad)),
        )
        for stretch in made_plan(at_deg, help_n).stretches(Phase.CONCENTRIC)
    ]
    assert found == told


def test_lowering_has_a_plan_of_its_own() -> None:
    """10 N of friction, which takes 20 N off the help: 30 N while raising, 10 N while lowering."""
    plan = made_plan([0.0], [30.0], friction_n=10.0)
    assert plan.needed_n(Phase.ECCENTRIC) == pytest.approx(np.full(71, 10.0))
    assert [stretch.mean_n for phase in Phase for stretch in plan.stretches(phase)] == [30.0, 10.0]


def test_stretches_are_in_the_order_in_which_the_arm_passes_them() -> None:
    """Resistance from -25° to 9°, help from 22° on: lowering begins with the help, from 45° down."""
    plan = made_plan([-25.0, 45.0], [-40.0, 30.0])
    told = [
        [
            (
                round(np.rad2deg(each.from_rad)),
                round(np.rad2deg(each.to_rad)),
                each.action,
                each.first_n,
                each.last_n,
            )
            for each in plan.in_order(phase)
        ]
        for phase in Phase
    ]
    assert told == [
        [(-25, 9, RESIST, 35, 5), (9, 22, LEAVE, 0, 0), (22, 45, HELP, 5, 25)],
        [(45, 22, HELP, 25, 5), (22, 9, LEAVE, 0, 0), (9, -25, RESIST, 5, 35)],
    ]


@pytest.mark.parametrize(
    ("help_n", "friction_n", "beyond"),
    [(99.0, 0.0, False), (101.0, 0.0, True), (-101.0, 0.0, True), (-80.0, 9.0, False), (-80.0, 11.0, True)],
)
def test_a_partner_holds_100_newtons_in_either_phase(help_n, friction_n, beyond) -> None:
    assert made_plan([-25.0, 10.0, 45.0], [0.0, help_n, 0.0], friction_n=friction_n).beyond_a_hand == beyond
