"""Delivered help compared with the plan: hands that are made up, and the verdict that each must get."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from feltload.coaching import (
    CapacityCurve,
    CapacitySource,
    DeliveredHelp,
    HalfRepetitionHelp,
    HandAction,
    HelpPlan,
    HelpVerdict,
    LoadLine,
    Phase,
    compare_with_plan,
    plan_help,
    verdict_of,
)
from lever_profile import lever_profile
from made_capacity import made_capacity
from made_plan import made_plan


@pytest.mark.parametrize(
    ("planned_n", "given_n", "u95_n", "verdict"),
    [
        (30.0, 12.0, 5.0, HelpVerdict.TOO_LITTLE),
        (30.0, 28.0, 5.0, HelpVerdict.RIGHT),
        (30.0, 47.0, 5.0, HelpVerdict.TOO_MUCH),
        (30.0, 42.0, 5.0, HelpVerdict.UNDETERMINED),
        (30.0, 28.0, 15.0, HelpVerdict.UNDETERMINED),
        (30.0, -8.0, 5.0, HelpVerdict.OPPOSITE),
        (30.0, -4.0, 1.0, HelpVerdict.TOO_LITTLE),
        # A quarter of much is more than two steps of what a hand feels.
        (80.0, 65.0, 4.0, HelpVerdict.RIGHT),
        (80.0, 50.0, 4.0, HelpVerdict.TOO_LITTLE),
        (0.0, 3.0, 4.0, HelpVerdict.RIGHT),
        (0.0, 20.0, 4.0, HelpVerdict.TOO_MUCH),
        (0.0, 11.0, 4.0, HelpVerdict.UNDETERMINED),
    ],
)
def test_a_verdict_is_what_the_band_leaves_certain(planned_n, given_n, u95_n, verdict) -> None:
    for sign in (1.0, -1.0):
        assert verdict_of(sign * planned_n, sign * given_n, u95_n) == verdict


def _plan() -> HelpPlan:
    """Resistance, hands off, help building up, as a known person at 40 kg needs them."""
    made = made_capacity(force_n=(520.0, 180.0))
    capacity = CapacityCurve(
        made.angle_rad, made.force_n, 25.0 * np.eye(made.angle_rad.size), CapacitySource.HOLDS
    )
    return plan_help(LoadLine.of(lever_profile()), capacity, 40.0, 0.7)


def _delivered(
    plan: HelpPlan, hands: Callable[[np.ndarray, np.ndarray], np.ndarray], u95_n: float = 3.0
) -> DeliveredHelp:
    angle = plan.angle_rad
    halves = tuple(
        HalfRepetitionHelp(0, phase, np.asarray(hands(angle, plan.hand_n(phase)), float)) for phase in Phase
    )
    return DeliveredHelp(angle, halves, np.full(angle.size, (0.5 * u95_n) ** 2), 0.0)


def _verdicts(given: DeliveredHelp, plan: HelpPlan, action: HandAction) -> set[HelpVerdict]:
    return {each.verdict for each in compare_with_plan(given, plan) if each.planned.action == action}


def test_the_plan_itself_is_right_and_its_opposite_is_opposite() -> None:
    plan = _plan()
    right = compare_with_plan(_delivered(plan, lambda _, told: told), plan)
    assert [each.planned for each in right] == [s for phase in Phase for s in plan.stretches(phase)]
    assert {each.verdict for each in right} == {HelpVerdict.RIGHT}
    turned = _delivered(plan, lambda _, told: -told)
    for action in (HandAction.HELP, HandAction.RESIST):
        assert _verdicts(turned, plan, action) == {HelpVerdict.OPPOSITE}
    assert _verdicts(turned, plan, HandAction.LEAVE) == {HelpVerdict.RIGHT}


def test_half_the_plan_is_too_little_and_twice_is_too_much() -> None:
    plan = _plan()
    for factor, verdict in ((0.3, HelpVerdict.TOO_LITTLE), (2.0, HelpVerdict.TOO_MUCH)):
        given = _delivered(plan, lambda _, told, factor=factor: factor * told)
        assert _verdicts(given, plan, HandAction.HELP) == {verdict}


def test_raising_and_lowering_are_apart() -> None:
    plan = _plan()
    given = _delivered(plan, lambda _, told: told)
    lowering_only = DeliveredHelp(
        given.angle_rad,
        (
            HalfRepetitionHelp(0, Phase.CONCENTRIC, np.zeros(plan.angle_rad.size)),
            *(half for half in given.half_repetitions if half.phase == Phase.ECCENTRIC),
        ),
        given.shared_variance_n2,
        0.0,
    )
    for each in compare_with_plan(lowering_only, plan):
        alike = each.phase == Phase.ECCENTRIC or each.planned.action == HandAction.LEAVE
        assert each.verdict == (HelpVerdict.RIGHT if alike else HelpVerdict.TOO_LITTLE)


def test_a_mean_that_is_right_by_chance_is_not_called_right() -> None:
    """Nothing over one half of a stretch, twice the plan over the other."""
    plan = _plan()
    (stretch,) = [s for s in plan.stretches(Phase.CONCENTRIC) if s.action == HandAction.HELP]
    middle = 0.5 * (stretch.from_rad + stretch.to_rad)
    mean = plan.hand_n(Phase.CONCENTRIC)[plan.angle_rad >= stretch.from_rad].mean()
    given = _delivered(plan, lambda angle, told: np.where(angle < middle, 2.0 * mean, 0.0) * (told > 0))
    (found,) = [
        each
        for each in compare_with_plan(given, plan)
        if (each.phase, each.planned.action) == (Phase.CONCENTRIC, HandAction.HELP)
    ]
    assert found.given_n == pytest.approx(found.planned_n, abs=10.0)
    assert found.verdict == HelpVerdict.UNEVEN
    assert abs(found.worst_given_n - found.worst_planned_n) > 20.0


@pytest.mark.parametrize(("off_n", "verdict"), [(12.9, HelpVerdict.RIGHT), (13.1, HelpVerdict.UNEVEN)])
def test_a_force_is_off_when_the_band_leaves_more_than_the_leeway(off_n, verdict) -> None:
    """30 N planned throughout, as much too little over the first half as too much over the second: 3 N and 10 N."""
    plan = made_plan([0.0], [30.0])
    given = _delivered(plan, lambda angle, told: told + np.where(angle < np.deg2rad(9.9), -off_n, off_n))
    found = compare_with_plan(given, plan)
    assert [each.verdict for each in found] == [verdict] * 2
    assert [each.planned_n for each in found] == [30.0] * 2


def test_hands_that_turned_too_early_are_too_little_and_in_part_the_opposite() -> None:
    plan = _plan()
    (stretch,) = [s for s in plan.stretches(Phase.CONCENTRIC) if s.action == HandAction.RESIST]
    late = stretch.from_rad + 0.7 * (stretch.to_rad - stretch.from_rad)
    given = _delivered(plan, lambda angle, told: np.where(angle > late, 60.0, 0.2 * told))
    found = compare_with_plan(given, plan)[0]
    assert found.planned == stretch
    assert found.verdict == HelpVerdict.TOO_LITTLE and found.partly_opposite
    assert found.worst_given_n == 60.0 and found.worst_rad > late


def test_where_nothing_was_measured_there_is_no_verdict() -> None:
    plan = _plan()
    given = _delivered(plan, lambda angle, told: np.where(angle > 0.0, told, np.nan))
    found = compare_with_plan(given, plan)
    assert found[0].verdict == HelpVerdict.NOT_MEASURED and np.isnan(found[0].given_n)
    assert _verdicts(given, plan, HandAction.HELP) == {HelpVerdict.RIGHT}


def test_a_wide_band_decides_nothing() -> None:
    plan = _plan()
    given = _delivered(plan, lambda _, told: told, u95_n=200.0)
    assert {each.verdict for each in compare_with_plan(given, plan)} == {HelpVerdict.UNDETERMINED}
