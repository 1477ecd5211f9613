"""Axis and stillness from rates written down by hand."""

import numpy as np
import pytest

from feltload.signal.errors import MotionError
from feltload.signal.hinge.axis import hinge_axis, off_axis_share, still_samples

RATE = 100.0
Z = np.array([0.0, 0.0, 1.0])


def swing(count=400):
    return np.sin(2.0 * np.pi * np.arange(count) / 100.0)


@pytest.mark.parametrize("axis", [(0.6, -0.8, 0.0), (0.48, 0.6, -0.64), (-0.8, 0.6, 0.0)])
def test_the_axis_is_the_direction_that_the_rate_goes_along(axis):
    """A constant bias across it takes no part; the largest component is positive."""
    gyro = np.outer(swing(), axis) + np.array([0.3, 0.2, -5.0])
    sign = np.sign(axis[np.argmax(np.abs(axis))])
    assert hinge_axis(gyro) == pytest.approx(sign * np.array(axis))


@pytest.mark.parametrize(("rms", "enough"), [(0.0297, False), (0.0303, True)])
def test_a_part_that_hardly_turns_has_no_axis(rms, enough):
    gyro = np.outer(2**0.5 * rms * swing(), Z)
    if enough:
        assert hinge_axis(gyro) == pytest.approx(Z)
        return
    with pytest.raises(MotionError, match=r"hardly turned \(1\.70 deg/s rms\)"):
        hinge_axis(gyro)


def test_rate_across_the_axis_is_a_share_of_that_about_it():
    """3 and 4 parts across for 20 along, whatever the bias: 5 of 20."""
    sine, cosine = swing(), np.roll(swing(), 25)
    gyro = np.column_stack([0.03 * cosine, 0.04 * cosine, 0.2 * sine]) + 1.0
    assert off_axis_share(gyro, Z) == pytest.approx(0.25)


def rest(count, sd=0.001):
    """Readings that alternate about a bias."""
    noise = sd * np.tile([1.0, -1.0], count // 2 + 1)[:count]
    return np.column_stack([noise, noise, noise]) + np.array([0.02, -0.01, 0.005])


def turning(gyro, start, stop, rate=1.0):
    gyro[start:stop, 2] += rate
    return gyro


def spans(flags):
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def test_a_rest_is_told_by_windows_of_0_4_seconds_that_hold_nothing_else():
    """40 samples from 20 before to 19 after: at rest to 180 before the turn at 200, and from 420 after its end at 400.

    The turn itself is steady and so is quiet, but at another level than the rests.
    """
    still = still_samples(turning(rest(700), 200, 400), RATE)
    assert spans(still) == [(0, 181), (420, 700)]


@pytest.mark.parametrize(("length", "rests"), [(58, False), (59, True)])
def test_the_shortest_rest_is_0_6_seconds(length, rests):
    """59 samples hold 20 windows, which are the 0.2 s by which a rest is longer than a window."""
    gyro = rest(800)
    for start, stop in ((300, 400), (400 + length, 500 + length)):
        turning(gyro, start, stop, rate=1.0)
    assert ((420, 440) in spans(still_samples(gyro, RATE))) == rests


@pytest.mark.parametrize(("level", "near"), [(0.0118, True), (0.0122, False)])
def test_a_still_arm_is_near_the_level_of_most_rests(level, near):
    gyro = turning(rest(1000), 400, 500)
    turning(gyro, 500, 1000, rate=level)
    # The first rest is the shorter one and so is not the common level.
    assert spans(still_samples(gyro, RATE)) == ([(0, 381), (520, 1000)] if near else [(520, 1000)])


@pytest.mark.parametrize(("sd", "rests"), [(0.0205, True), (0.0211, False)])
def test_a_part_that_never_stops_shaking_does_not_rest(sd, rests):
    """sd on each of three axes is sd times the root of three in all; 0.036 rad/s is three times what a rest may be."""
    assert still_samples(rest(400, sd), RATE).any() == rests
