"""The plan of help by hand."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import (
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
