"""The line under the arrivals and its uncertainty, worked by hand on a few points."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.signal.clock.line import Line, Track, fit_track, lower_line, tick_of


def test_the_lower_edge_that_spans_the_mean():
    # Points (1, 11) and (3, 13) carry the line y = 10 + x; the others lie 0.5, 0.7 and 0.9 above it.
    line = lower_line(np.arange(5.0), np.array([10.5, 11.0, 12.7, 13.0, 14.9]))
    assert (line.centre, line.slope) == (2.0, pytest.approx(1.0))
    assert line.offset_s == pytest.approx(12.0)
    assert line.at(np.array([0.0, 4.0])) == pytest.approx([10.0, 14.0])


def test_a_known_slope_leaves_only_the_offset():
    # Under y - 2 x = 10.5, 9, 8.7, 7, 6.9 the lowest is the last: 14.9 - 2 (4 - 2).
    line = lower_line(np.arange(5.0), np.array([10.5, 11.0, 12.7, 13.0, 14.9]), slope=2.0)
    assert line.slope == 2.0
    assert line.offset_s == pytest.approx(10.9)


def test_few_arrivals_are_as_uncertain_as_they_scatter():
    # Delays from 0 to 0.9 s over a span of 4: a rectangle's slope is uncertain by sqrt(12) / span of its offset.
    line = lower_line(np.arange(5.0), np.array([10.5, 11.0, 12.7, 13.0, 14.9]))
    assert line.u_offset_s == pytest.approx(0.9)
    assert line.u_slope == pytest.approx(0.9 * np.sqrt(12.0) / 4.0)
    away = line.u_at(np.array([2.0, 4.0]))
    assert away == pytest.approx([0.9, 0.9 * np.hypot(1.0, np.sqrt(12.0) / 2.0)])


def test_one_counter_value_says_nothing_of_the_slope():
    line = lower_line(np.array([7.0, 7.0]), np.array([1.0, 1.4]))
    assert (line.slope, line.offset_s) == (0.0, 1.0)
    assert (line.u_offset_s, line.u_slope) == (pytest.approx(0.4), 1.0)


def test_many_arrivals_are_as_uncertain_as_the_earliest_of_each_block():
    # 40 samples make four blocks. The earliest of each are 0, 0.03, 0.04 and 0 s late, all others 1 s.
    counter = np.arange(40.0)
    delay = np.ones(40)
    delay[[5, 15, 25, 35]] = 0.0, 0.03, 0.04, 0.0
    line = lower_line(counter, 100.0 + counter + delay)
    assert line.slope == pytest.approx(1.0)
    assert line.offset_s == pytest.approx(119.5)
    # Two touch by construction: half the root mean square of the other two.
    assert line.u_offset_s == pytest.approx(0.5 * np.sqrt((0.03**2 + 0.04**2) / 2.0))
    assert line.u_slope == pytest.approx(line.u_offset_s * np.sqrt(12.0) / 39.0)


@pytest.mark.parametrize("tick", [0.1, 0.01, 0.001, 0.0001])
def test_stamps_rounded_to_a_decimal_tick(tick):
    steps = np.cumsum(np.random.default_rng(1).integers(1, 30, 300))
    assert tick_of(5.0 + tick * steps) == tick


def test_finer_stamps_have_no_tick():
    assert tick_of(np.arange(200) * 0.00125 + 0.00003) == 0.0
    assert tick_of(np.arange(200) / 833.0) == 0.0


LINES = Track(
    (Line(0.0, 10.0, 1.0, 0.1, 0.0), Line(10.0, 20.6, 1.0, 0.3, 0.0), Line(20.0, 30.0, 1.0, 0.1, 0.0))
)


def test_lines_blend_between_their_centres():
    time_s, _ = LINES.at(np.array([-5.0, 0.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0]))
    # A quarter of the way 10 + 2.5 and 20.6 - 7.5 blend to 12.65, half way 15 and 15.6 to 15.3; ends are held.
    assert time_s == pytest.approx([5.0, 10.0, 12.65, 15.3, 20.6, 25.3, 30.0, 35.0])


def test_lines_that_disagree_are_uncertain_by_it():
    _, u_s = LINES.at(np.array([0.0, 2.5, 17.5]))
    # Lines 0.6 s apart: a rectangle of that width, beside their own 0.1, 0.15 and 0.15 s.
    assert u_s == pytest.approx(np.hypot([0.1, 0.15, 0.15], 0.6 / np.sqrt(12.0)))
    one = Track((Line(10.0, 20.0, 1.0, 0.3, 0.1),))
    assert one.at(np.array([14.0]))[1] == pytest.approx([0.5])
    two = Track((Line(10.0, 20.0, 1.0, 0.3, 0.1), Line(18.0, 28.0, 1.0, 0.3, 0.1)))
    assert two.at(np.array([14.0]))[1] == pytest.approx([0.5])


def test_slope_of_several_lines():
    track = Track((Line(0.0, 0.0, 1.0, 0.0, 0.03), Line(9.0, 9.0, 1.2, 0.0, 0.04)))
    assert track.slope == pytest.approx(1.1)
    # Of a mean of two: sqrt((0.03^2 + 0.04^2) / 2 / 2).
    assert track.u_slope == pytest.approx(0.025)


@pytest.mark.parametrize(("seconds", "lines"), [(179.0, 1), (181.0, 3), (240.0, 3), (301.0, 5)])
def test_long_records_are_followed_by_lines_two_minutes_long_that_overlap_by_half(seconds, lines):
    counter = np.append(np.arange(0.0, seconds, 0.5), seconds)
    assert len(fit_track(counter, counter + 3.0).lines) == lines
    assert len(fit_track(counter, counter + 3.0, 1.0).lines) == 1


def test_a_silence_leaves_a_line_out():
    # Of three stretches (0-120, 60-180, 120-240 s) the last has one arrival only.
    counter = np.append(np.arange(0.0, 115.0, 0.5), 240.0)
    track = fit_track(counter, counter + 3.0)
    assert len(track.lines) == 2
    assert track.at(counter)[0] == pytest.approx(counter + 3.0)
