"""What a partner is told before a set and after it, word for word."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.app.text.person.delivered import (
    describe_delivered,
    describe_help_headline,
    help_key_figures,
)
from feltload.app.text.person.hands import describe_aim, describe_kind, describe_plan, hand_text
from feltload.coaching import DeliveredHelp, HalfRepetitionHelp, Phase
from feltload.signal import Travel
from made_plan import DEGREES, made_plan


@pytest.mark.parametrize(
    ("force_n", "said"),
    # 9.80665 N are 1 kgf: 2.55, 5.10 and 1.53 kgf, to the nearest half.
    [(25.0, "25 N (2.5 kgf)"), (50.0, "50 N (5 kgf)"), (15.0, "15 N (1.5 kgf)"), (100.0, "100 N (10 kgf)")],
)
def test_a_hands_force_has_the_kilograms_that_it_feels_like(force_n, said) -> None:
    assert hand_text(force_n) == said


ALONG = Travel(np.deg2rad(DEGREES))
ALL = "0 to 100 % (−25° to 45°)"
BACK = "100 to 0 % (45° to −25°)"


@pytest.mark.parametrize(
    ("help_n", "said"),
    [
        (2.0, "hands off (not certain to ± 5 N)"),
        (40.0, "help, about 40 N (4 kgf) throughout (± 5 N)"),
        (-40.0, "add resistance, about 40 N (4 kgf) throughout (± 5 N)"),
    ],
)
def test_a_plan_that_is_one_thing_throughout(help_n, said) -> None:
    plan = made_plan([0.0], [help_n])
    assert describe_plan(plan, ALONG) == [
        f"Raising, by part of the travel: {ALL}: {said}.",
        f"Lowering, by part of the travel: {BACK}: {said}.",
    ]
    assert describe_aim(plan, ALONG) == "With 40 kg, to feel 70 % of capacity everywhere:"


def test_a_plan_is_told_in_the_order_of_the_movement() -> None:
    """Lowering begins at the top: what builds up on the way there eases off on the way back."""
    raising, lowering = describe_plan(made_plan([-25.0, 45.0], [-40.0, 30.0]), ALONG)
    assert raising == (
        "Raising, by part of the travel: 0 to 49 % (−25° to 9°): add resistance, easing off from about 35 N "
        "(3.5 kgf) to 5 N (0.5 kgf) (± 5 N); "
        "49 to 67 % (9° to 22°): hands off (not certain to ± 5 N); "
        "67 to 100 % (22° to 45°): help, building up from about 5 N (0.5 kgf) to 25 N (2.5 kgf) "
        "(± 5 N)."
    )
    assert lowering == (
        "Lowering, by part of the travel: 100 to 67 % (45° to 22°): help, easing off from about 25 N (2.5 kgf) "
        "to 5 N (0.5 kgf) (± 5 N); "
        "67 to 49 % (22° to 9°): hands off (not certain to ± 5 N); "
        "49 to 0 % (9° to −25°): add resistance, building up from about 5 N (0.5 kgf) to 35 N "
        "(3.5 kgf) (± 5 N)."
    )


def test_help_in_the_middle_is_told_with_its_place() -> None:
    raising, _ = describe_plan(made_plan([-25.0, -15.0, 10.0, 35.0, 45.0], [0.0, 0.0, 50.0, 0.0, 0.0]), ALONG)
    assert "(−11° to 32°): help, most at 46 % (7°), about 45 N (4.5 kgf) (± 5 N)" in raising


@pytest.mark.parametrize(
    ("help_n", "instead"),
    [
        ([99.0, -99.0], None),
        ([101.0, 0.0], "take plates off"),
        ([-101.0, 0.0], "aim at a smaller share of capacity"),
        ([-101.0, 101.0], "take plates off or aim at a smaller share of capacity"),
    ],
)
def test_where_hands_do_not_suffice_the_load_comes_down(help_n, instead) -> None:
    said = describe_plan(made_plan([0.0, 30.0], help_n), ALONG)[2:]
    assert said == [
        f"More than 100 N (10.2 kgf) is more than a partner gives evenly: {which} first."
        for which in [instead]
        if which
    ]


@pytest.mark.parametrize(
    ("help_n", "kind"),
    [
        ([40.0, 40.0], "help by hand"),
        ([-40.0, -40.0], "resistance by hand"),
        ([-40.0, 40.0], "help and resistance by hand"),
        ([1.0, 1.0], "hands off"),
    ],
)
def test_resistance_is_not_called_help(help_n, kind) -> None:
    assert describe_kind(made_plan([0.0, 30.0], help_n)) == kind


def test_lowering_is_said_by_its_own_figures() -> None:
    raising, lowering = describe_plan(made_plan([0.0], [30.0], friction_n=30.0), ALONG)
    assert "help, about 30 N" in raising
    assert (
        lowering
        == f"Lowering, by part of the travel: {BACK}: add resistance, about 30 N (3 kgf) throughout (± 5 N)."
    )


def _given(raising_n: np.ndarray, lowering_n: np.ndarray) -> DeliveredHelp:
    """Two repetitions, the second with a fifth more; a band of 2 sqrt(3 + 2/2) = 4 N for their mean."""
    halves = tuple(
        HalfRepetitionHelp(k, phase, (1.0 + 0.2 * k) * row)
        for k in range(2)
        for phase, row in ((Phase.CONCENTRIC, raising_n), (Phase.ECCENTRIC, lowering_n))
    )
    return DeliveredHelp(np.deg2rad(DEGREES), halves, np.full(DEGREES.size, 3.0), 2.0**0.5)


def test_help_that_was_given_is_said_at_its_place() -> None:
    """30 N at 20° raising, 33 N on the mean of 30 and 36; 20 N of resistance at 40° lowering, 22 on the mean."""
    bump = np.clip(30.0 - np.abs(DEGREES - 20.0), 0.0, None)
    slope = -np.clip(DEGREES - 20.0, 0.0, 20.0)
    assert describe_delivered(_given(bump, slope), None, ALONG) == [
        "While raising, help was greatest at 64 % of the travel (middle, 20°): "
        "33 N (3.4 kgf) ± 4 N, from 30 N to 36 N over 2 repetitions.",
        "While lowering, resistance was added most at 93 % of the travel (last third, 40°): "
        "22 N (2.2 kgf) ± 4 N, from 20 N to 24 N over 2 repetitions.",
    ]


def test_what_play_looks_like_is_said_beside_the_help() -> None:
    loose = replace(_given(0.0 * DEGREES, 0.0 * DEGREES), ahead_rad=float(np.radians(1.0)), ahead_n=6.0)
    assert describe_delivered(loose, None, ALONG)[1:] == [
        "The machine gives between sensor and load: the angle of this set runs up to 1.0° ahead of the profile's, "
        "which alone can look like 6.0 N (0.6 kgf) of help or resistance, beside the ± given here."
    ]


def test_no_help_is_said_with_what_may_hide() -> None:
    none = _given(0.0 * DEGREES, 0.0 * DEGREES)
    assert describe_delivered(none, None, ALONG) == [
        "No help is seen in 2 repetitions: what is left lies within ± 5 N of zero."
    ]


@pytest.mark.parametrize(
    ("raising_n", "lowering_n", "said"),
    [
        (40.0, 40.0, "The help was as planned in 2 parts that could be measured."),
        (
            40.0,
            0.0,
            f"The help was as planned in 1 of 2 parts; most off while lowering, {BACK}: too little (help was planned).",
        ),
        (
            -30.0,
            90.0,
            f"The help was not as planned; most off while raising, {ALL}: the opposite of the plan (help was planned).",
        ),
    ],
)
def test_the_verdict_on_a_helped_set_is_one_sentence(raising_n, lowering_n, said) -> None:
    """40 N of help were planned throughout, on both ways."""
    even = np.ones(DEGREES.size)
    given = _given(raising_n * even, lowering_n * even)
    assert describe_help_headline(given, made_plan([0.0], [40.0]), ALONG) == said


def test_the_verdict_without_a_plan_is_where_help_was_greatest() -> None:
    given = _given(40.0 * np.ones(DEGREES.size), np.zeros(DEGREES.size))
    assert describe_help_headline(given, None, ALONG) == describe_delivered(given, None, ALONG)[0]
    # 40 and 48 N in two repetitions.
    assert help_key_figures(given, ALONG)[0].value == "44 N"
