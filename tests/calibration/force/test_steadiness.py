"""When a hung weight counts as at rest, from readings whose line and scatter are written down."""

import numpy as np
import pytest

from feltload.calibration.force.steadiness import judge

# Three seconds at 80 a second, the first sample 3 s before the last one: 240 are inside.
TIME = np.arange(241) / 80.0


def test_a_line_has_its_change_over_the_window_and_no_spread():
    found = judge(TIME, 500.0 + 2.0 * TIME, tolerance=10.0)
    assert (found.state, found.samples) == ("stable", 240)
    assert found.change == pytest.approx(6.0)
    assert found.spread == pytest.approx(0.0, abs=1e-9)
    # The middle of 1/80 s to 3 s.
    assert found.mean == pytest.approx(500.0 + 2.0 * (3.0 + 1.0 / 80.0) / 2.0)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(("change", "state"), [(9.9, "stable"), (10.1, "drifting")])
def test_a_drift_may_be_as_large_as_the_tolerance(change, state, sign):
    assert judge(TIME, sign * change / 3.0 * TIME, tolerance=10.0).state == state


@pytest.mark.parametrize(("change", "state"), [(0.97, "stable"), (1.06, "drifting")])
def test_a_drift_may_be_as_large_as_the_spread_of_many_readings(change, state):
    """Readings one above and one below their line: a spread of one."""
    found = judge(TIME, np.where(np.arange(241) % 2, 1.0, -1.0) + change / 3.0 * TIME, tolerance=0.0)
    assert found.state == state
    assert found.spread == pytest.approx(1.0, rel=5e-3)


@pytest.mark.parametrize(("slope", "state"), [(1.24, "stable"), (1.26, "drifting")])
def test_a_drift_may_be_as_large_as_few_readings_leave_open(slope, state):
    """Nine readings 0.35 s apart, in turn one above and below: a spread of the root of (9 - 1/9) / 7, 1.127.

    Squares of the times add up to 0.35² x 60 = 7.35 s²: three times 3 s x 1.127 / the root of 7.35 is 3.741.
    """
    time = 0.35 * np.arange(10)
    found = judge(time, np.where(np.arange(10) % 2, 1.0, -1.0) + slope * time, tolerance=0.0)
    assert (found.state, found.samples) == (state, 9)
    assert found.spread == pytest.approx(np.sqrt((9.0 - 1.0 / 9.0) / 7.0))


@pytest.mark.parametrize(("slope", "state"), [(4.6, "unstable"), (4.9, "drifting"), (-4.9, "drifting")])
def test_what_swings_is_a_drift_if_it_goes_one_way_by_twice_its_spread(slope, state):
    """A swing of 10 at 1 Hz spreads by 7.07: 14.14 in 3 s."""
    assert judge(TIME, slope * TIME + 10.0 * np.cos(2.0 * np.pi * TIME), tolerance=0.1).state == state


def test_what_goes_out_and_back_is_unstable_whatever_its_line():
    """Thirds of 0, 10 and 6: a line of 2 per second by their outer ones, and no way that is kept."""
    steps = np.repeat([0.0, 10.0, 6.0], 80)
    for reading in (steps, -steps):
        assert judge(TIME[1:] - TIME[1], reading, tolerance=0.1, window_s=2.95).state == "unstable"


@pytest.mark.parametrize(("amplitude", "state"), [(1.40, "stable"), (1.43, "unstable")])
def test_a_swing_may_spread_by_the_tolerance(amplitude, state):
    """A slow swing by the tolerance of 1: its amplitude over the root of two."""
    made = amplitude * np.cos(2.0 * np.pi * TIME)
    assert judge(TIME, made, tolerance=1.0).state == state


@pytest.mark.parametrize(("step_s", "count", "state"), [(0.4, 9, "stable"), (0.45, 8, "waiting")])
def test_eight_readings_are_judged_and_seven_are_not(step_s, count, state):
    assert judge(step_s * np.arange(count), np.full(count, 5.0), tolerance=0.0).state == state


@pytest.mark.parametrize(("length_s", "state"), [(2.99, "waiting"), (3.0, "stable"), (0.0, "waiting")])
def test_less_than_a_window_is_waited_for(length_s, state):
    time = np.linspace(0.0, length_s, 300)
    assert judge(time, np.full(300, 5.0), tolerance=0.0).state == state
    empty = judge([], [], tolerance=0.0)
    assert (empty.state, empty.samples) == ("waiting", 0)
    assert np.isnan([empty.mean, empty.spread, empty.change]).all()
