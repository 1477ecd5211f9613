"""Readings that cannot belong to the others: how far off is too far, and which slip of the pen explains it."""

import numpy as np
import pytest

from feltload.calibration.force.fit import find_blunders

# 84 counts/N over 0 to 500 N: the span of the readings is 42000 counts.
FORCE = np.repeat(np.arange(0, 11) * 50.0, 2)
ZERO = 1000.0


def readings(at=None, value=None, scatter=0.0):
    """Readings on a line, each second one above and the others below it by `scatter`, one of them replaced."""
    made = ZERO + 84.0 * FORCE + scatter * np.tile([1.0, -1.0], len(FORCE) // 2)
    if at is not None:
        made[at] = value(made[at])
    return made


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(("percent", "far"), [(0.9, False), (1.1, True)])
def test_without_scatter_the_limit_is_a_hundredth_of_the_span(sign, percent, far):
    off = sign * percent / 100.0 * 42000.0
    assert [b.index for b in find_blunders(FORCE, readings(8, lambda r: r + off))] == ([8] if far else [])


@pytest.mark.parametrize(("deviations", "far"), [(7.0, False), (9.5, True)])
def test_with_scatter_the_limit_is_eight_standard_deviations_of_it(deviations, far):
    # ±100 counts about the line: a median of 100, a standard deviation of 148.26 by the usual factor.
    scattered = readings(8, lambda r: r - 100.0 + deviations * 148.26, scatter=100.0)
    assert [b.index for b in find_blunders(FORCE, scattered)] == ([8] if far else [])


@pytest.mark.parametrize(
    ("typed", "words", "fits"),
    [
        (lambda r: 10.0 * r, "ten times too large", "17800"),
        (lambda r: r / 10.0, "ten times too small", "17800"),
        (lambda r: 100.0 * r, "a hundred times too large", "17800"),
        (lambda r: r / 100.0, "a hundred times too small", "17800"),
        (lambda r: -r, "the wrong sign", "17800"),
        # The reading of 200 N/2.2046 under a load of 200 N, and the other way round.
        (lambda r: ZERO + (r - ZERO) / 2.2046226, "in pounds under kilograms", ""),
        (lambda r: ZERO + (r - ZERO) * 2.2046226, "in kilograms under pounds", ""),
        (lambda r: r + 5000.0, "about 17800 would fit", ""),
    ],
)
def test_a_slip_is_named_with_what_would_fit(typed, words, fits):
    (found,) = find_blunders(FORCE, readings(8, typed))
    assert found.index == 8
    assert words in found.why
    assert fits in found.why


@pytest.mark.parametrize(("off", "named"), [(0.96, False), (0.98, True), (1.02, True), (1.04, False)])
def test_a_load_in_the_wrong_unit_is_known_by_its_ratio_within_three_percent(off, named):
    made = readings(18, lambda r: ZERO + (r - ZERO) / 2.2046226 * off)
    (found,) = find_blunders(FORCE, made)
    assert ("in pounds under kilograms" in found.why) == named
    made = readings(18, lambda r: ZERO + (r - ZERO) * 2.2046226 * off)
    (found,) = find_blunders(FORCE, made)
    assert ("in kilograms under pounds" in found.why) == named


@pytest.mark.parametrize(("count", "found"), [(4, []), (5, [1])])
def test_five_readings_are_enough_to_doubt_one(count, found):
    made = ZERO + 84.0 * 50.0 * np.arange(count)
    made[1] *= 10.0
    assert [b.index for b in find_blunders(50.0 * np.arange(count), made)] == found


def test_the_line_is_not_pulled_by_what_it_should_find():
    # Five of 22 readings ten times too large: repeated medians hold up to half.
    made = readings()
    made[[2, 7, 12, 15, 20]] *= 10.0
    assert [b.index for b in find_blunders(FORCE, made)] == [2, 7, 12, 15, 20]


@pytest.mark.parametrize("force", [np.arange(4) * 50.0, np.full(8, 50.0)])
def test_too_few_readings_or_loads_say_nothing(force):
    made = ZERO + 84.0 * force
    made[1] *= 10.0
    assert find_blunders(force, made) == []
