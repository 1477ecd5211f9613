"""Inertial samples on the working grid: integral, means, silences and limits worked by hand."""

import numpy as np
import pytest

from feltload.signal.hinge.data import block_means, hinge_data, integrate
from feltload.signal.hinge.holes import hole_s, pieces_between_holes, turn_u_rad
from feltload.signal.hinge.samples import InertialSamples

Z = np.array([0.0, 0.0, 1.0])


def made(time_s, rate, *, rate_hz=100.0, gyro_clipped=(), accel_clipped=()):
    """Samples that turn about z; accel is time, so that means can be read off."""
    time_s = np.asarray(time_s, dtype=float)
    flags = [np.isin(np.arange(len(time_s)), where) for where in (gyro_clipped, accel_clipped)]
    accel = np.outer(time_s, [1.0, 2.0, 3.0])
    return InertialSamples(time_s, np.outer(rate, Z), accel, *flags, rate_hz, ())


def test_a_parabola_is_integrated_exactly_at_uneven_steps():
    """3 t² between the second and the last but one sample: t³; the first and the last step have straight ends."""
    time_s = np.array([0.0, 0.1, 0.25, 0.3, 0.5, 0.65, 0.7])
    turned = integrate(time_s, 3.0 * time_s**2)
    assert np.diff(turned)[1:-1] == pytest.approx(np.diff(time_s**3)[1:-1])
    assert turned[0] == 0.0
    # First step: the mean of 0 and 0.03 and, from slopes of 0.3 and 0.6 at its ends, 0.1² / 12 of -0.3.
    assert turned[1] == pytest.approx(0.1 * 0.015 - 0.01 / 12.0 * 0.3)


@pytest.mark.parametrize(("silence_s", "bent"), [(0.34, True), (0.36, False)])
def test_a_silence_of_more_than_three_and_a_half_periods_is_bridged_by_a_line(silence_s, bent):
    """Rates of a parabola, 0.1 s apart but for one silence: the line makes half of silence³ too much."""
    time_s = np.concatenate([np.arange(10) * 0.1, 0.9 + silence_s + np.arange(10) * 0.1])
    turned = np.diff(integrate(time_s, 3.0 * time_s**2))[9]
    exact, line = (0.9 + silence_s) ** 3 - 0.9**3, silence_s * 1.5 * (0.81 + (0.9 + silence_s) ** 2)
    assert turned == pytest.approx(exact if bent else line)
    assert line - exact == pytest.approx(silence_s**3 / 2.0)


def test_means_of_successive_samples_leave_out_what_fills_no_block():
    time_s, columns = np.arange(7.0), np.column_stack([np.arange(7.0), 10.0 * np.arange(7.0)])
    times, means = block_means(time_s, columns, 3)
    assert times.tolist() == [1.0, 4.0]
    assert means.tolist() == [[1.0, 10.0], [4.0, 40.0]]
    assert block_means(time_s, columns, 1)[1] is columns


@pytest.mark.parametrize(
    ("rate_hz", "grid_hz", "count"), [(100.0, 100.0, 300), (199.0, 199.0, 300), (250.0, 125.0, 150)]
)
def test_the_working_grid_is_of_a_hundred_a_second_or_less_than_twice_that(rate_hz, grid_hz, count):
    time_s = np.arange(300) / rate_hz
    data = hinge_data(made(time_s, np.sin(time_s), rate_hz=rate_hz), Z)
    assert (data.grid_hz, len(data.time_s)) == (grid_hz, count)
    # Acceleration was made to grow with time: means stand at the middle of their samples.
    assert data.accel == pytest.approx(np.outer(data.time_s, [1.0, 2.0, 3.0]))
    assert data.rate == pytest.approx(np.sin(data.time_s), abs=1e-4)
    assert data.turned[5:-5] == pytest.approx(1.0 - np.cos(data.time_s[5:-5]), abs=1e-4)
    assert data.slope[5:-5] == pytest.approx(np.cos(data.time_s[5:-5]), abs=1e-4)
    assert data.valid.all() and data.breaks == () and data.holes == ()


def test_nothing_near_a_limit_is_used():
    """The samples at a limit and two on either side."""
    time_s = np.arange(300) / 100.0
    data = hinge_data(made(time_s, np.sin(time_s), gyro_clipped=(50,), accel_clipped=(100, 101)), Z)
    assert np.flatnonzero(~data.valid).tolist() == [*range(48, 53), *range(98, 104)]
    # The rotation is unknown only where the gyroscope was at its limit: half its rate for a sample of 0.01 s.
    ((start_s, stop_s, u_rad),) = data.breaks
    assert (start_s, stop_s, u_rad) == pytest.approx((0.5, 0.5, 0.5 * 0.01 * np.sin(0.5)))


@pytest.mark.parametrize(
    ("before", "after", "swing"),
    [(0.0, 0.0, 0.1), (0.4, 0.1, 0.3), (0.1, 0.4, 0.3), (-0.2, 0.2, 0.4), (1.0, 0.8, 0.5), (-0.8, -1.0, 0.5)],
)
def test_what_a_gap_leaves_open_of_the_turn(before, after, swing):
    """A third of the gap, 0.1 s, times the change of the rate, half the rate itself or 0.1 rad/s, whatever is more."""
    time_s = np.concatenate([np.arange(150) * 0.01, 1.59 + np.arange(150) * 0.01])
    rate = np.where(np.arange(300) < 150, before, after)
    data = hinge_data(made(time_s, rate), Z)
    ((start_s, stop_s, u_rad),) = data.breaks
    assert (start_s, stop_s) == pytest.approx((1.49, 1.59))
    assert u_rad == pytest.approx(swing * 0.1 / 3.0)
    assert data.holes == ()
    # The same rule over a brief hole.
    assert turn_u_rad(0.2, before, after) == pytest.approx(max(swing * 0.2 / 3.0, 0.03))


def test_a_hole_is_carried_only_as_long_as_no_movement_fits_into_it():
    """Half the hole at 6 rad/s², the other half at -6, turns an arm at rest by 1.5 T²: half of it is the uncertainty.

    At 0.2 rad, 11°, after 0.516 s, nothing is carried any more; nor where the rates leave as much open before.
    """
    assert turn_u_rad(0.51, 0.0, 0.0) == pytest.approx(0.75 * 0.51**2)
    assert turn_u_rad(0.52, 0.0, 0.0) == 100.0
    assert turn_u_rad(3.0, 0.0, 0.0) == 100.0
    assert turn_u_rad(0.29, -1.0, 1.0) == pytest.approx(0.58 / 3.0)
    assert turn_u_rad(0.31, -1.0, 1.0) == 100.0


@pytest.mark.parametrize(("rate_hz", "shortest_s"), [(100.0, 0.15), (20.0, 0.175)])
def test_a_hole_is_longer_than_a_gap(rate_hz, shortest_s):
    assert hole_s(rate_hz) == pytest.approx(shortest_s)
    step = 1.0 / rate_hz
    for silence, cut in ((0.99 * shortest_s, False), (1.01 * shortest_s, True)):
        time_s = np.concatenate([np.arange(60) * step, 59 * step + silence + np.arange(60) * step])
        pieces = pieces_between_holes(time_s, rate_hz)
        assert pieces == ((slice(0, 60), slice(60, 120)) if cut else (slice(0, 120),))


def test_no_block_reaches_across_a_hole():
    """61 samples at 200 a second, a silence of 0.4 s at 1 rad/s, 61 more: blocks of two, the odd ones left out."""
    time_s = np.concatenate([np.arange(61) * 0.005, 0.7 + np.arange(61) * 0.005])
    data = hinge_data(made(time_s, np.full(122, 1.0), rate_hz=200.0), Z)
    ((start_s, stop_s, u_rad),) = data.holes
    assert (start_s, stop_s, u_rad) == pytest.approx((0.3, 0.7, 6.0 * 0.16 / 8.0))
    inside = (data.time_s > 0.31) & (data.time_s < 0.69)
    assert not data.valid[inside].any()
    assert data.breaks == ()
