"""Doubts about the mounting at their limits, from values written down by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from feltload.signal.hinge.diagnostics import axis_change, contradiction, inclination_fact, rest_change
from feltload.signal.hinge.samples import InertialSamples

Z = np.array([0.0, 0.0, 1.0])


def solution(
    *, a=(9.8, 0.0, 0.0), off=(0.0, 0.0, 0.0), offset=(0.0, 0.0, 9.0), mount=(0.3, 0.0, 0.0), **given
):
    """Gravity `a` in the plane of motion, its quarter turn -z x a but for `off`; offsets; the sensor's place."""
    unknown = np.zeros(17)
    unknown[0:3], unknown[3:6] = offset, a
    unknown[6:9] = -np.cross(Z, a) + np.array(off)
    unknown[9:12] = mount
    unknown[15] = given.get("scale", 0.0)
    return SimpleNamespace(unknown=unknown, sigma=given.get("sigma", 0.1))


def test_a_sound_solution_contradicts_nothing():
    # An offset along the axis is gravity of an inclined hinge, whatever its size.
    assert contradiction(Z, solution()) is None


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("given", "within", "beyond", "words"),
    [
        # Three tenths of the gravity that turns; 0.4 m/s² where there is hardly any.
        (lambda x: {"off": (0.0, x, 0.0)}, 2.93, 2.95, "gravity turns the other way"),
        (lambda x: {"off": (x, 0.0, 0.0)}, 2.93, 2.95, "gravity turns the other way"),
        (lambda x: {"a": (0.0, 1.0, 0.0), "off": (0.0, 0.0, x)}, 0.39, 0.41, "gravity turns the other way"),
        # An offset across the axis that no working accelerometer has.
        (lambda x: {"offset": (0.6 * x, 0.8 * x, 5.0)}, 1.99, 2.01, "gravity turns the other way"),
        (lambda x: {"mount": (0.0, 0.6 * x, 0.8 * x)}, 2.99, 3.01, "3.0 m from the pivot"),
        (lambda x: {"sigma": abs(x)}, 2.49, 2.51, "contradict each other (2.5 m/s² left over)"),
        (lambda x: {"scale": x}, 0.149, 0.151, "15 %"),
    ],
)
def test_what_no_turning_part_shows_is_a_contradiction(given, within, beyond, words, sign):
    assert contradiction(Z, solution(**given(sign * within))) is None
    assert words in contradiction(Z, solution(**given(sign * beyond)))


def test_a_scale_keeps_its_sign():
    assert "off by -20 %" in contradiction(Z, solution(scale=-0.2))


RATE_HZ = 20.0


def swinging(axes, *, seconds=5.0, size=0.5, across=0.0, clipped=()):
    """Blocks of five seconds, each a swing of 1 Hz about its own axis in the x-z plane, given in degrees from z."""
    count = round(seconds * RATE_HZ)
    sine = size * np.sin(2.0 * np.pi * np.arange(count) / RATE_HZ)
    side = across * np.cos(2.0 * np.pi * np.arange(count) / RATE_HZ)
    gyro = np.concatenate(
        [
            np.outer(sine, [np.sin(np.radians(a)), 0.0, np.cos(np.radians(a))])
            + np.outer(side, [0.0, 1.0, 0.0])
            for a in axes
        ]
    )
    rows = np.arange(len(gyro))
    flags = np.isin(rows, clipped)
    return InertialSamples(rows / RATE_HZ, gyro, 0.0 * gyro, flags, 0.0 * rows > 1.0, RATE_HZ, ())


@pytest.mark.parametrize("turned", [3.1, -3.1, 30.0])
def test_an_axis_that_changed_for_good_is_seen_at_its_time(turned):
    assert axis_change(swinging([1.0, 1.0, 1.0 + turned, 1.0 + turned])) == pytest.approx(
        (10.0, np.radians(abs(turned)))
    )
    assert axis_change(swinging([turned] + [0.0] * 4)) == pytest.approx((5.0, np.radians(abs(turned))))
    assert axis_change(swinging([0.0] * 4 + [turned])) == pytest.approx((20.0, np.radians(abs(turned))))


def test_less_than_three_degrees_or_twenty_seconds_show_no_change():
    assert axis_change(swinging([0.0, 0.0, 2.9, 2.9])) is None
    assert axis_change(swinging([0.0, 0.0, 20.0])) is None


def test_a_constant_bias_and_a_limit_are_no_other_axis():
    samples = swinging([0.0] * 4)
    samples.gyro[:] += np.array([5.0, -3.0, 1.0])
    assert axis_change(samples) is None
    wild = np.arange(300, 330)
    samples = swinging([0.0] * 4, clipped=wild)
    samples.gyro[wild, 0] = np.where(wild % 2, 35.0, -35.0)
    assert axis_change(samples) is None


@pytest.mark.parametrize(("across", "seen"), [(0.049, True), (0.051, False)])
def test_a_part_that_turns_about_several_axes_has_none_to_change(across, seen):
    """A hundredth of the power is a tenth of the rate."""
    assert (axis_change(swinging([0.0, 0.0, 10.0, 10.0], across=across)) is not None) == seen


@pytest.mark.parametrize(("size", "seen"), [(0.198, False), (0.202, True)])
def test_a_side_that_hardly_moves_shows_no_axis(size, seen):
    """A mean square of 0.02 rad²/s² is half of 0.2²."""
    for axes, small in (([0.0, 0.0, 0.0, 10.0], slice(300, None)), ([10.0, 0.0, 0.0, 0.0], slice(100))):
        samples = swinging(axes)
        samples.gyro[small] *= size / 0.5
        assert (axis_change(samples) is not None) == seen


def rests(levels_deg):
    """Rests of ten samples at these levels, each followed by ten that move up to 60 degrees."""
    q, still = [], []
    for level in levels_deg:
        q += [level] * 10 + [60.0] * 10
        still += [True] * 10 + [False] * 10
    return np.arange(len(q)) * 0.1, np.radians(q), np.array(still)


@pytest.mark.parametrize(
    ("levels", "found"),
    [
        # A rest at the top is none of the lowest; without it four are left.
        ((0.0, 0.0, 50.0, 1.1, 1.1), (6.0, 1.1)),
        ((0.0, 0.0, -1.1, -1.1), (4.0, -1.1)),
        ((0.0, 0.0, 0.9, 0.9), None),
        ((0.0, 0.0, 5.0), None),
        # Both sides scatter by 0.6: more than twice that is asked.
        ((0.0, 0.6, 0.3, 1.7, 1.4, 2.0), (6.0, 1.4)),
        ((0.0, 0.6, 0.3, 1.4, 1.1, 1.7), None),
        ((0.0, 0.0, 0.0, 14.0, 14.0), (6.0, 14.0)),
        # A quarter of the 60 degrees is no lowest rest any more.
        ((0.0, 0.0, 0.0, 16.0, 16.0), None),
    ],
)
def test_a_lowest_rest_that_changed_for_good(levels, found):
    got = rest_change(*rests(levels))
    if found is None:
        assert got is None
    else:
        assert got == pytest.approx((found[0], np.radians(found[1])))


@pytest.mark.parametrize(
    ("measured", "stated", "percent"),
    [
        # cos 11.4° and 11.6° are 1.97 % and 2.04 % less than one.
        (11.4, 0.0, None),
        (11.6, 0.0, 2.04),
        (64.9, 60.0, None),
        (65.1, 60.0, 15.79),
        (55.1, 60.0, None),
        (54.9, 60.0, -15.0),
        (30.0, -30.0, None),
        (40.0, -30.0, 11.54),
    ],
)
def test_an_inclination_differs_by_five_degrees_and_two_percent_of_the_force(measured, stated, percent):
    fact = inclination_fact(np.radians(measured), np.radians(stated))
    if percent is None:
        assert fact is None
        return
    assert dict(fact.figures) == {
        "measured_rad": pytest.approx(np.radians(measured)),
        "stated_rad": pytest.approx(np.radians(stated)),
        "share": pytest.approx(percent / 100.0, abs=1e-4),
    }
